"""The common jobs of a coach's day, each done in at most four taps from her menu or a message."""

from collections.abc import Sequence

import pytest

from tests.support.practice import Practice

MOST = 4
"""Taps and typed words together (ours: one thumb)."""

JOBS: Sequence[tuple[str, Sequence[str], str]] = (
    ("find a client", ("=ma",), "Emergency"),
    ("the card", ("My clients", "(?) Mary"), "Emergency"),
    ("answer", ("=mary", "Write to them", "=See you on Friday"), "I pass it on to Mary"),
    ("ease a day", ("=mary", "Change the plan", "Ease today"), "Saved. I tell Mary."),
    ("a note", ("=mary", "Notes", "Write a note", "=Likes the morning"), "Likes the morning"),
    ("invite", ("Invite", "=Hemi"), "An invitation for Hemi"),
    ("what was told", ("=mary", "Messages", "What was Mary told"), "word for word"),
    ("a letter", ("=mary", "Letters", "For Mary, four weeks"), "A letter for Mary"),
    ("holiday", ("=mary", "More", "Holiday", "One week"), "Mary"),
)


@pytest.mark.parametrize(("job", "acts", "answer"), JOBS, ids=[job for job, _, _ in JOBS])
async def test_a_common_job_takes_at_most_four_taps(
    village: Practice, job: str, acts: Sequence[str], answer: str
):
    await village.says("rua", "menu")
    said: list[str] = []
    for act in acts:
        typed = act.startswith("=")
        said = await (village.says("rua", act[1:]) if typed else village.taps("rua", act))

    assert any(answer in one for one in said), said
    assert len(acts) <= MOST


async def test_an_alert_is_read_seen_and_answered_from_its_own_message(village: Practice):
    await village.says("mary", "my chest feels tight and I feel sick")
    assert any("Mary" in one for one in village.heard("rua"))
    said = await village.taps("rua", "I have seen this")
    assert said
    said = await village.taps("rua", "Write to them")
    assert "Mary" in said[0]
