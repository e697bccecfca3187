"""The first check-in after a pause: what was told is asked after, a danger at home never."""

import pytest

from tests.support.practice import Practice

OF_ABUSE = ("hits", "abuse", "safe at home", "husband", "something was wrong", "how is it now")


async def _lifted(village: Practice, told: str) -> None:
    """Told at ten, seen, and lifted the same morning."""
    await village.at("07:00")
    await village.good_morning()
    await village.at("10:00")
    await village.says("mary", told)
    await village.taps("rua", "I have seen")
    await village.taps("rua", "End the pause")
    shown = [c.label for row in village.newest_buttons("rua").outgoing.choices for c in row]
    if "A doctor" in shown:
        await village.taps("rua", "A doctor")
        await village.says("rua", "Dr Singh")
        await village.taps("rua", "Today")
    elif "Yes" in shown:
        await village.taps("rua", "Yes")


@pytest.mark.parametrize("days", [0, 9])
async def test_a_danger_at_home_is_never_asked_after(village: Practice, days: int):
    await village.at("07:00")
    told = len(village.heard("mary"))
    await _lifted(village, "my husband hits me")
    await village.at("07:30", days=days)
    await village.says("mary", "check-in")
    if "How was that time?" in village.last_to("mary"):
        await village.taps("mary", "I was well, or away")
    assert "Any of these today?" in village.last_to("mary")
    await village.good_morning()
    await village.says("mary", "menu")
    heard = "\n".join(village.heard("mary", told)).lower()
    assert not any(words in heard for words in OF_ABUSE)


async def test_a_sign_is_asked_after_first_and_training_begins_at_the_easiest(village: Practice):
    await _lifted(village, "I fainted this morning")
    assert "you may train again" in village.last_to("mary")
    await village.at("07:30", days=9)
    await village.says("mary", "check-in")
    assert "How is it now?" in village.last_to("mary")
    await village.taps("mary", "It is over")
    if "How was that time?" in village.last_to("mary"):
        await village.taps("mary", "I was well, or away")
    await village.good_morning()
    said = "\n".join(await village.says("mary", "/today"))
    assert "one set" in said.lower() or "lightest" in said.lower(), said
