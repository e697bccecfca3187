"""The common jobs of a coach's day, each done in at most four taps from her menu or a message."""

from collections.abc import Sequence

import pytest

from bot.flows.changes import SaveProfile, SetPerson
from bot.storage.changes.apply import apply_all
from bot.storage.changes.applying import Applying
from bot.storage.unit import UnitOfWork
from tests.support.practice import Practice

MOST = 4
"""Taps and typed words together (ours: one thumb)."""

JOBS: Sequence[tuple[str, Sequence[str], str]] = (
    ("find a client", ("=ma",), "Emergency"),
    ("the card", ("My clients", "(?) Mary"), "Emergency"),
    ("answer", ("=mary", "Write to them", "=See you on Friday"), "I pass it on to Mary"),
    ("ease a day", ("=mary", "Change the plan", "Ease today"), "Saved. I tell Mary."),
    ("a note", ("=mary", "Notes", "Write a note", "=Likes the morning"), "Likes the morning"),
    ("clear again", ("=mary", "Clear", "=Dr Singh, by letter, today", "6 months"), "is cleared to"),
    ("invite", ("Invite", "=Hemi"), "An invitation for Hemi"),
    ("what was told", ("=mary", "Messages", "What was Mary told"), "word for word"),
    ("a letter", ("=mary", "Letters", "For Mary, four weeks"), "A letter for Mary"),
    ("holiday", ("=mary", "More", "Holiday", "One week"), "Mary"),
)


def _known_to_the_coach(unit: UnitOfWork, village: Practice) -> None:
    """Name and number have been looked at, as when she was cleared first."""
    told = {"number_confirmed": True, "name_confirmed": True}
    applying = Applying(unit, village.ids["rua"], village.clock.now(), str)
    apply_all(applying, [SaveProfile(village.ids["mary"], told)])
    unit.commit()


@pytest.mark.parametrize(("job", "acts", "answer"), JOBS, ids=[job for job, _, _ in JOBS])
async def test_a_common_job_takes_at_most_four_taps(
    village: Practice, job: str, acts: Sequence[str], answer: str
):
    await village.app.database.run(_known_to_the_coach, village)
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


async def test_a_pause_is_ended_from_the_alert_s_message_in_four(village: Practice):
    """Seen, the end of the pause, who has looked at her, the name with the day."""
    await village.says("mary", "my chest feels tight and I feel sick")
    acts = ("I have seen this", "End the pause", "A doctor")
    await village.taps("rua", *acts)
    await village.says("rua", "Dr Singh, today")
    assert len(acts) + 1 <= MOST
    assert any("you may train again" in one for one in village.heard("mary"))


FIRST_CLEARING = (
    "=nell",
    "“Nell” and 111 are right: clear",
    "=Dr Singh, by letter, today",
    "6 m",
)


async def test_a_first_clearing_takes_four_taps_and_still_says_that_name_and_number_are_right(
    village: Practice,
):
    await village.client("Nell", cleared=False, fitness="usual")
    said: list[str] = []
    for act in FIRST_CLEARING:
        typed = act.startswith("=")
        said = await (village.says("rua", act[1:]) if typed else village.taps("rua", act))

    assert any("Nell is cleared to" in one for one in said), said
    assert len(FIRST_CLEARING) <= MOST
    await village.says("rua", "nell")
    assert "not checked by you yet" not in village.last_to("rua")


async def test_a_card_that_shows_an_older_name_says_nothing_of_the_new_one(village: Practice):
    """What she said is right is what she saw; what is kept since then is asked about."""
    await village.client("Nell", cleared=False, fitness="usual")
    await village.says("rua", "nell")
    shown = village.newest_buttons("rua")
    (right,) = [one for row in shown.outgoing.choices for one in row if "are right" in one.label]
    await village.app.database.run(_renamed, village)

    said = await village.taps_value("rua", right.value, shown.edits or shown.platform_id)

    assert any("please check two things" in one for one in said), said


def _renamed(unit: UnitOfWork, village: Practice) -> None:
    applying = Applying(unit, village.ids["nell"], village.clock.now(), str)
    apply_all(applying, [SetPerson(village.ids["nell"], name="Nelly")])
    unit.commit()
