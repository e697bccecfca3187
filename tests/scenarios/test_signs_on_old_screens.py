"""A button that tells of a warning sign acts from an older screen too, and past midnight."""

import pytest
from sqlmodel import select

from bot.storage.tables import AlertRow
from bot.storage.told import alert_told
from bot.storage.unit import UnitOfWork
from core.vocabulary import AlertLevel, Sign
from tests.support.practice import Practice


async def chased(village: Practice) -> list[set[Sign]]:
    """The signs of each alert that is chased."""

    def read(unit: UnitOfWork) -> list[set[Sign]]:
        rows = unit.session.exec(select(AlertRow).where(AlertRow.level != AlertLevel.MENTION))
        return [set(alert_told(unit.encryption, row).signs) for row in rows]

    return await village.app.database.run(read)


def button(village: Practice, value: str) -> tuple[str, str]:
    """What the newest button with this value sends back, and the message it stands in."""
    shown = village.newest_buttons("mary")
    full = next(
        choice.value
        for row in shown.outgoing.choices
        for choice in row
        if choice.value.endswith(f".{value}")
    )
    return full, shown.edits or shown.platform_id


async def test_the_warning_button_of_a_minute_ago_acts_after_midnight(village: Practice):
    await village.at("23:58")
    await village.says("mary", "check-in")
    value, message = button(village, "trouble=warning_sign")
    await village.at("00:01")

    said = await village.taps_value("mary", value, message)

    assert await chased(village)
    assert "111" in said[0]


async def test_the_sign_button_of_an_older_list_acts(village: Practice):
    await village.at("07:00")
    await village.good_morning()
    await village.at("12:00")
    await village.says("mary", "/today")
    await village.taps("mary", "Start")
    value, message = button(village, "sign")
    await village.says("mary", "/today")

    await village.taps_value("mary", value, message)

    assert await chased(village)


@pytest.mark.parametrize("asked", ["what", "where"])
async def test_a_sign_told_on_an_older_screen_of_what_is_wrong_acts(village: Practice, asked: str):
    await village.says("mary", "I am not well")
    if asked == "where":
        await village.taps("mary", "Pain in a joint")
    value, message = button(village, "sign" if asked == "what" else "where=chest")
    await village.says("mary", "I am not well")

    await village.taps_value("mary", value, message)

    (signs,) = await chased(village)
    assert asked == "what" or Sign.CHEST_PAIN in signs


@pytest.mark.parametrize("value", ["sign", "where=chest"])
async def test_a_second_tap_of_a_shaky_thumb_tells_the_coach_nothing_twice(
    village: Practice, value: str
):
    await village.says("mary", "I am not well")
    if value != "sign":
        await village.taps("mary", "Pain in a joint")
    tapped, message = button(village, value)
    await village.says("mary", "I am not well")
    await village.taps_value("mary", tapped, message)
    before = len(village.heard("rua"))

    said = await village.taps_value("mary", tapped, message)

    assert len(await chased(village)) == 1
    assert len(village.heard("rua")) == before
    assert "I am telling" not in "\n".join(said)
    assert "111" in "\n".join(said)
