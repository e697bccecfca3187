"""The coach's morning list says each need once, and calls no day of a pause a silence."""

import re

import pytest

from tests.support.practice import Practice

SIX = ("Ann", "Bea", "Cid", "Dot", "Eve", "Fay")


@pytest.fixture
async def listed(village: Practice) -> Practice:
    """The coach's list comes at seven."""
    await village.says("rua", "settings")
    await village.taps("rua", "Time of my list", "07:00")
    return village


def newest_list(village: Practice) -> str:
    return next(text for text in reversed(village.heard("rua")) if "Good morning" in text)


async def ends_the_pause(village: Practice, who: str) -> None:
    await village.says("rua", who)
    await village.taps("rua", "End the pause", "A doctor")
    await village.says("rua", "Dr Singh, today")


async def test_what_was_told_stands_beside_the_word_that_she_needs_the_coach(listed: Practice):
    """One line with the mark, the word and what was told; not one for the word, one for what."""
    await listed.at("07:30")
    await listed.taps("mary", "New pain", "My back", "7", "Since today", *"44444")
    await listed.at("07:30")

    found = [line for line in newest_list(listed).splitlines() if "needs you" in line]
    assert [line.startswith("(!) Mary: needs you, new pain.") for line in found] == [True], found
    assert "something to know" not in newest_list(listed)


async def test_the_days_of_a_pause_are_no_silence(listed: Practice):
    await listed.at("07:30")
    await listed.good_morning("mary")
    await listed.says("mary", "I feel dizzy")
    await listed.taps("rua", "I have seen")
    await listed.at("12:00", days=6)
    await ends_the_pause(listed, "mary")

    await listed.at("07:30")
    assert not re.search(r"Silent.*Mary|Mary: silent", newest_list(listed)), newest_list(listed)
    await listed.at("07:30", days=2)
    assert "Mary: silent, nothing for 4 days" in newest_list(listed)


async def test_four_pauses_that_ended_are_told_and_older_ones_counted(listed: Practice):
    for name in SIX:
        await listed.client(name)
    await listed.at("12:00")
    for name in SIX:
        await listed.says(name.lower(), "I feel dizzy")
        await listed.taps("rua", "I have seen")
        await ends_the_pause(listed, name)
        await listed.wait(1)

    await listed.at("07:30")
    (line,) = [one for one in newest_list(listed).splitlines() if "Pauses ended" in one]
    assert [name for name in SIX if name in line] == list(SIX[2:]), line
    assert line.endswith("; and 2 earlier")
