"""A button's words count as the button, however they are typed: case, marks, spaces."""

from datetime import timedelta

import pytest

from bot.storage.tables import AlertRow, ClientRow
from bot.storage.told import alert_told
from bot.storage.unit import UnitOfWork
from tests.support.practice import Practice
from tests.support.sessions import begin, labels

APOSTROPHES = ("'", "’", "‘", "´", "`", "ʼ")


async def called(village: Practice) -> str:
    def ask(unit: UnitOfWork) -> str:
        return alert_told(unit.encryption, unit.session.get_one(AlertRow, 1)).called

    return await village.app.database.run(ask)


@pytest.mark.parametrize(
    "text",
    ["Yes, I have called", "yes i have called.", "  YES,  I have CALLED!! ", "Yes - I’ve called"],
)
async def test_yes_i_have_called(village: Practice, text: str):
    await village.says("mary", "my chest feels tight")
    said = await village.says("mary", text)

    assert said[0].startswith("Good. Stay on the line")
    assert await called(village) == "yes"


@pytest.mark.parametrize("mark", APOSTROPHES)
async def test_i_cannot_call_with_every_keyboard_s_apostrophe(village: Practice, mark: str):
    await village.says("mary", "my chest feels tight")
    said = await village.says("mary", f"I can{mark}t call.")

    assert said[0].startswith("I am asking Rua to call 111")
    assert await called(village) == "cannot"


@pytest.mark.parametrize("text", ["Knee.", "KNEE", " knee! ", "left knee,", "“Knee”"])
@pytest.mark.parametrize("where", ["check-in", "something wrong", "session"])
async def test_a_place_that_hurts(village: Practice, where: str, text: str):
    await village.at("07:00")
    if where == "check-in":
        await village.taps("mary", "New pain")
    elif where == "session":
        await begin(village)
        await village.taps("mary", "It hurts")
    else:
        await village.says("mary", "Something is wrong!")
        await village.taps("mary", "Pain in a joint")
    said = await village.says("mary", text)

    assert "from 0 to 10" in said[-1]


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("Today’s session.", "First the morning check-in"),
        ("today, please", "First the morning check-in"),
        ("«Menu»", "What would you like"),
        ("Could I have my check-in, please!", "1 of 6"),
        ("How hard to work", "hard"),
        ("Something is wrong,", "What is it?"),
        ("A walk", "walk"),
        ("How far I have come", ""),
        ("Message my coach", "What shall I tell Rua?"),
        ("My times and days", "What would you like to change?"),
        ("My data", ""),
    ],
)
async def test_a_menu_word(village: Practice, text: str, shown: str):
    said = await village.says("mary", text)

    assert "did not understand" not in said[0]
    assert shown in "".join(said)


async def test_a_button_that_opens_a_screen_also_when_other_messages_came_since(
    village: Practice,
):
    """On a day without a session "I want to train today" stands under the check-in."""

    def no_session(unit: UnitOfWork) -> None:
        tomorrow = village.clock.now() + timedelta(days=2)
        row = unit.session.get_one(ClientRow, village.ids["mary"])
        row.training_days = str(tomorrow.isoweekday())
        unit.commit()

    await village.at("07:00")
    await village.app.database.run(no_session)
    await village.good_morning()
    assert "I want to train today" in labels(village, "mary")
    assert "did not understand" in (await village.says("mary", "yes, off we go"))[0]

    said = await village.says("mary", "i want to train today.")

    assert "did not understand" not in "".join(said)
    assert "Start the session" in labels(village, "mary")


async def test_only_whoever_was_shown_a_button_opens_it_by_its_words(village: Practice):
    await village.at("07:00")
    await village.good_morning()
    assert "did not understand" in "".join(await village.says("mary", "Invite a client"))
