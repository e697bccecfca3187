"""The coach's morning list tells who is silent, eased, paused and why, and what ends soon."""

from datetime import date, timedelta

import pytest

from bot.schedule.due import reschedule
from bot.storage.unit import UnitOfWork
from tests.support.practice import Practice

LIST_AT = "09:00"
"""By then the list is out: it goes before the check-in of seven."""


@pytest.fixture(autouse=True)
async def _rua_has_a_list(village: Practice) -> None:
    def due(unit: UnitOfWork) -> None:
        reschedule(unit, village.ids["rua"], village.clock.now())
        unit.commit()

    await village.app.database.run(due)


async def newest_list(village: Practice) -> str:
    """The newest morning list that Rua got."""
    lists = [text for text in village.heard("rua") if text.startswith("Good morning")]
    return lists[-1]


async def test_silence_is_counted_in_days(village: Practice):
    await village.at("07:00")
    await village.good_morning()
    await village.at(LIST_AT, days=4)

    assert "Mary: silent, nothing for 4 days" in await newest_list(village)


async def test_a_pause_says_why_and_since_when(village: Practice):
    await village.says("mary", "I feel dizzy")
    await village.taps("rua", "I have seen")
    await village.at(LIST_AT, days=2)

    assert "Mary: paused, for 3 days: dizziness" in await newest_list(village)


async def test_a_day_eased_after_the_list_is_on_the_next_one(village: Practice):
    await village.at("07:00")
    await village.client("Nan", checkin_at="07:00")
    await village.at("09:30")
    await village.says("nan", "check in")
    await village.taps("nan", "None of these", "1", "2", "2", "2", "2")
    await village.at("08:00")

    assert "Nan: lighter plan, since yesterday" in await newest_list(village)


async def test_those_who_are_fine_are_one_line_with_their_count(village: Practice):
    for name in ("Nan", "Ola"):
        await village.client(name)
    await village.at("07:00")
    for who in ("mary", "nan", "ola"):
        await village.good_morning(who)
    await village.at(LIST_AT, days=1)
    said = await newest_list(village)

    assert "Fine: 3 (Mary, Nan and Ola)" in said
    assert "still to come" not in said


async def test_a_clearance_that_ends_in_two_weeks_is_named(village: Practice):
    until = date(2026, 3, 3) + timedelta(days=10)
    await village.client(
        "Nan", cleared_by="Rua", cleared_on="2026-01-05", cleared_until=until.isoformat()
    )
    await village.at("07:00")
    await village.good_morning("nan")
    await village.at(LIST_AT)

    said = await newest_list(village)
    assert "• Clearance ends: Nan (13 Mar)" in said


async def test_the_list_has_no_glyph_that_a_phone_may_lack(village: Practice):
    await village.says("mary", "I feel dizzy")
    await village.at(LIST_AT)

    assert all(ord(letter) < 0x2100 for letter in await newest_list(village))
