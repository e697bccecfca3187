"""What cannot be undone is done by the button of that very question, or its words just after it."""

import pytest

from bot.storage.tables import ClientRow
from bot.storage.unit import UnitOfWork
from tests.support.practice import Practice


async def is_erased(village: Practice) -> bool:
    def ask(unit: UnitOfWork) -> bool:
        profile = unit.encryption.decrypt_json(
            unit.session.get_one(ClientRow, village.ids["mary"]).profile_sealed
        )
        return not isinstance(profile, dict) or "home" not in profile

    return await village.app.database.run(ask)


async def has_left(village: Practice) -> bool:
    return "Mary has left" in "".join(village.heard("rua"))


def button(village: Practice, label: str) -> tuple[str, str]:
    """The value and the message of a newest button."""
    shown = village.newest_buttons("mary")
    return next(
        (choice.value, shown.edits or shown.platform_id)
        for row in shown.outgoing.choices
        for choice in row
        if choice.label.startswith(label)
    )


async def asks(village: Practice, which: str = "Leave and erase") -> None:
    await village.says("mary", "/mydata")
    await village.taps("mary", which)
    assert "Are you sure?" in village.last_to("mary")


@pytest.mark.parametrize("words", ["sure", "Yes, I am sure.", "YES, I’M SURE!"])
async def test_the_words_of_the_button_count_while_it_is_just_asked(village: Practice, words: str):
    await asks(village)
    await village.says("mary", words)

    assert await is_erased(village)


@pytest.mark.parametrize("words", ["sure", "Yes, I am sure"])
@pytest.mark.parametrize("minutes", [11, 90, 60 * 5, 60 * 20])
async def test_words_typed_later_erase_nothing(village: Practice, words: str, minutes: int):
    await asks(village)
    await village.wait(minutes)
    await village.says("mary", words)

    assert not await is_erased(village)
    assert not await has_left(village)


@pytest.mark.parametrize("words", ["yes", "ok", "sure thing", "erase", "+64 21 555 0199"])
async def test_other_words_erase_nothing(village: Practice, words: str):
    await asks(village)
    await village.says("mary", words)

    assert not await has_left(village)


async def test_words_are_for_the_newest_question(village: Practice):
    await asks(village)
    await village.says("mary", "/settings")
    await village.says("mary", "sure")

    assert not await has_left(village)


@pytest.mark.parametrize("minutes", [11, 60 * 5, 60 * 20])
async def test_the_button_hours_later_asks_again_or_is_told_to_be_old(
    village: Practice, minutes: int
):
    await asks(village)
    value, message = button(village, "Yes, I am sure")
    await village.wait(minutes)
    said = await village.taps_value("mary", value, message)

    assert not await has_left(village)
    assert "Are you sure?" in said[-1] or "button is from" in said[0]


async def test_asked_again_its_new_button_counts(village: Practice):
    await asks(village)
    await village.wait(60)
    await village.taps("mary", "Yes, I am sure")
    assert not await has_left(village)
    await village.taps("mary", "Yes, I am sure")

    assert await is_erased(village)


async def test_sure_of_one_question_is_not_sure_of_another(village: Practice):
    await asks(village, "Leave")
    value, message = button(village, "Yes, I am sure")
    await village.taps("mary", "◀ Back", "Leave and erase")
    said = await village.taps_value("mary", value, message)

    assert "older message" in said[0]
    assert not await has_left(village)


async def test_an_old_sure_after_another_conversation_erases_nothing(village: Practice):
    await asks(village)
    value, message = button(village, "Yes, I am sure")
    await village.taps("mary", "◀ Back", "Nothing")
    await asks(village, "Leave")
    said = await village.taps_value("mary", value, message)

    assert "older message" in said[0]
    assert not await has_left(village)
