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


async def test_a_chest_pain_of_long_ago_is_asked_about_in_a_session_and_no_alarm(
    village: Practice,
):
    await village.at("07:00")
    text = "had chest pain in 2009, all sorted with stents"

    assert await unmet(village, "Nell", "a movement", text) == ""
    assert "Where does it hurt" in village.last_to("nell")


def test_there_are_forty() -> None:
    assert len(MESSAGES) == 40
