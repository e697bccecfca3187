"""A coach writes to her client in the running service."""

from sqlmodel import select

from bot.storage.tables import AlertRow
from bot.storage.unit import UnitOfWork
from tests.support.practice import Practice


async def alerts(village: Practice) -> int:
    def count(unit: UnitOfWork) -> int:
        return len(unit.session.exec(select(AlertRow)).all())

    return await village.app.database.run(count)


async def test_there_and_back_and_only_the_client_s_words_raise_an_alert(village: Practice):
    await village.says("rua", "Mary")
    await village.taps("rua", "Write to them")
    await village.restart()
    said = await village.says("rua", "Good morning")
    assert any("Rua writes:\nGood morning" in one for one in said)

    await village.taps("mary", "Answer Rua")
    said = await village.says("mary", "Good morning to you")
    assert any("You wrote: “Good morning”" in one for one in said)

    await village.taps("rua", "Answer Mary")
    said = await village.says("rua", "Any chest pain today?")
    to_mary = next(one for one in said if one.startswith("Rua writes"))
    assert "If you are in danger, call 111." in to_mary
    assert await alerts(village) == 0

    await village.taps("mary", "Answer Rua")
    await village.says("mary", "yes I have a crushing chest pain right now")
    assert await alerts(village) == 1
    assert "Write to them" in {
        one.label for row in village.newest_buttons("rua").outgoing.choices for one in row
    }


async def test_while_the_coach_is_away_an_alert_goes_to_both_at_once(village: Practice):
    await village.coach("Sam", backup_of="rua")
    await village.says("rua", "settings")
    await village.taps("rua", "When I am away", "Today", "One week")
    before = len(village.heard("sam"))
    await village.says("mary", "my chest feels tight and I am short of breath")

    assert any("Mary" in one for one in village.heard("sam")[before:])
    assert any("Mary" in one for one in village.heard("rua")[-2:])


async def test_what_waited_for_a_lost_phone_goes_on_to_the_stand_in(village: Practice):
    await village.coach("Sam", backup_of="rua")
    await village.says("sam", "settings")
    said = await village.taps("sam", "A colleague", "Rua", "Yes")
    assert any("chats of Rua are closed" in one for one in said)
    said = await village.says("mary", "message")
    said = await village.says("mary", "can I swim again?")

    assert "Mary writes:\ncan I swim again?" in village.heard("sam")
    assert any("passed it on to Sam" in one for one in said)
