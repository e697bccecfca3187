"""Forty hard messages, each at one step of the day; all at each: ``tests.bench.hard_messages``."""

from tests.support.hard_messages import MESSAGES, STEPS, unmet
from tests.support.practice import Practice


async def test_hard_messages_are_met_at_whatever_step_they_come(village: Practice):
    steps = list(STEPS)
    await village.at("07:00")
    wrong = [
        await unmet(village, f"C{place}", steps[place % len(steps)], text)
        for place, text in enumerate(MESSAGES)
    ]

    assert [one for one in wrong if one] == []


def test_there_are_forty() -> None:
    assert len(MESSAGES) == 40
