"""Words typed days after a question are no answer to it: it says its day and is put again.

No outside source: the rule is ours.
"""

import pytest
from sqlmodel import select

from bot.storage.tables import InvitationRow
from bot.storage.unit import UnitOfWork
from tests.support.practice import Practice


async def test_a_message_is_asked_for_again_and_nothing_is_passed_on(village: Practice):
    await village.client("Aroha", cleared=False)
    await village.says("aroha", "/message")
    await village.at("07:00", days=2)
    before = len(village.heard("rua"))

    said = await village.says("aroha", "the roses are nice")

    assert said == [
        "I asked that on Monday 2 March. So I ask again.",
        "What shall I tell Rua? Type it here.",
    ]
    assert village.heard("rua", before) == []
    await village.at("07:00", days=2)
    assert "What would you like" in (await village.says("aroha", "menu"))[-1]
    await village.says("aroha", "/message")
    await village.says("aroha", "the roses are nice")
    assert "the roses are nice" in village.last_to("rua")


async def test_a_name_typed_days_later_invites_nobody(village: Practice):
    await village.says("rua", "/invite")
    await village.at("20:00", days=3)

    said = await village.says("rua", "Mary")

    def invited(unit: UnitOfWork) -> int:
        return len(unit.session.exec(select(InvitationRow)).all())

    assert await village.app.database.run(invited) == 0
    assert said[0].startswith("I asked that on Monday 2 March.")


async def test_over_midnight_a_question_is_still_that_of_the_evening(village: Practice):
    await village.at("23:30")
    await village.says("mary", "/message")
    await village.wait(60)

    await village.says("mary", "Please ring me about Thursday")

    assert "Please ring me about Thursday" in village.last_to("rua")


async def test_joining_is_answered_days_later(village: Practice):
    await village.says("rua", "/invite")
    await village.says("rua", "Hana")
    code = village.last_to("rua")
    await village.says("hana", next(word for word in code.split() if word.count("-") == 1))
    await village.taps("hana", "Yes, I agree")
    asked = village.last_to("hana")
    await village.wait(3 * 24 * 60)

    said = await village.says("hana", "New Zealand")

    assert "I asked that" not in "".join(said)
    assert village.last_to("hana") != asked


async def test_how_it_is_now_is_read_like_every_button(village: Practice):
    await village.at("07:00")
    await village.taps("mary", "Ill or fever", "Fever")
    await village.at("07:00", days=3)
    assert "How is it now?" in village.last_to("mary")

    said = await village.says("mary", "Better.")

    assert "How is it now?" not in said[-1]


async def test_a_client_who_has_left_reads_so_in_the_menu(village: Practice):
    await village.says("mary", "my data")
    await village.taps("mary", "Leave", "Yes")

    menu = await village.says("mary", "/menu")
    today = await village.says("mary", "/today")
    morning = await village.says("mary", "/checkin")

    for said in (menu, today, morning):
        assert "You have left, so I plan no training for you." in said[-1]
        assert "clear" not in said[-1]


@pytest.mark.parametrize("typed", ["menu", "Menu!", "check-in"])
async def test_the_name_of_a_screen_is_no_message(village: Practice, typed: str):
    await village.says("mary", "/message")
    before = len(village.heard("rua"))

    await village.says("mary", typed)
    await village.says("mary", "the roses are nice")

    assert village.heard("rua", before) == []


async def test_what_is_wrong_is_not_told_as_menu(village: Practice):
    await village.says("mary", "I feel unwell")
    await village.taps("mary", "Something else")

    said = await village.says("mary", "menu")

    assert "What would you like" in said[-1]


async def test_a_question_that_names_no_screen_is_a_message(village: Practice):
    await village.says("mary", "/message")

    await village.says("mary", "How am I doing?")

    assert "How am I doing?" in village.last_to("rua")
