"""Quiet hours of a coach and the way each message comes: nothing is lost, nothing is said wrong."""

from datetime import timedelta

import pytest

from bot.errors import Rejected
from bot.flows.changes import KeepForList, SetDesk, TakeOffList
from bot.flows.desk import QUIET_FROM, WAYS, Waits
from bot.messages import Outgoing
from bot.schedule.due import reschedule
from bot.storage.changes.apply import apply_all
from bot.storage.changes.applying import Applying
from bot.storage.changes.people import list_never_came
from bot.storage.changes.staff import move_clients
from bot.storage.facts import StoreFacts
from bot.storage.people import get_person
from bot.storage.unit import UnitOfWork
from tests.scenarios.test_home_tests import asks
from tests.support.facts import reference
from tests.support.practice import Practice


async def sets(village: Practice, **answers) -> None:
    def change(unit: UnitOfWork) -> None:
        rua, now = village.ids["rua"], village.clock.now()
        apply_all(Applying(unit, rua, now, str), [SetDesk(rua, answers)])
        reschedule(unit, rua, now)
        unit.commit()

    await village.app.database.run(change)


async def another_coach(village: Practice) -> None:
    """Sam, who gets a list each morning."""
    sam = await village.coach("Sam")

    def has_lists(unit: UnitOfWork) -> None:
        reschedule(unit, sam, village.clock.now())
        unit.commit()

    await village.app.database.run(has_lists)


@pytest.fixture(autouse=True)
async def _rua_is_quiet_from_eight(village: Practice) -> None:
    await sets(village, **{QUIET_FROM: "20:00"})


async def writes(village: Practice, text: str) -> str:
    await village.says("mary", "message")
    return (await village.says("mary", text))[0]


async def test_words_of_the_evening_wait_for_the_list_and_the_client_reads_so(village: Practice):
    await village.at("21:30")
    told = await writes(village, "Shall we meet on Friday?")
    assert "waits on the list that Rua gets tomorrow at 07:00" in told
    assert "passed it on" not in told
    assert not [text for text in village.heard("rua") if "Friday" in text]

    await village.at("07:30")
    (listed,) = [text for text in village.heard("rua") if "Friday" in text]
    assert listed.startswith("Good morning")
    assert "Mon 21:30 Mary wrote: “Shall we meet on Friday?”" in listed
    await village.taps("rua", "Write to Mary")
    assert "Mary" in village.last_to("rua")
    await village.at("07:30")
    assert "Friday" not in village.last_to("rua"), "it is told once"


async def test_by_day_words_come_at_once(village: Practice):
    await village.at("19:59")
    assert "passed it on to Rua" in await writes(village, "Hello")
    assert "Mary writes:\nHello" in village.last_to("rua")


@pytest.mark.parametrize("words", ["I have chest pain", "I feel dizzy"])
async def test_urgent_alerts_and_emergencies_come_all_the_same(village: Practice, words: str):
    await village.at("23:00")
    await village.says("mary", words)
    assert words in village.last_to("rua")


async def test_words_beside_an_open_alert_and_from_feeling_unwell_come_at_once(village: Practice):
    await village.at("23:00")
    await village.says("mary", "I feel dizzy")
    await village.taps("rua", "I have seen")
    await village.says("mary", "message")
    told = await village.says("mary", "It is the new pill, I think")
    assert any("new pill" in text for text in village.heard("rua"))
    assert not any("waits on the list" in text for text in told)


async def test_what_waits_goes_to_the_stand_in_when_no_list_comes(village: Practice):
    await village.coach("Ana")
    await village.says("rua", "settings")
    await village.taps("rua", "Stand-in", "Ana")
    await village.at("21:30")
    await writes(village, "Who comes on Friday?")
    await sets(village, away_from="2026-03-03", away_until="2026-03-10")
    await village.at("07:30")
    assert "Mary writes:\nWho comes on Friday?" in village.heard("ana")[-1]
    assert not any("Who comes" in text for text in village.heard("rua"))


async def test_whoever_is_away_without_a_stand_in_gets_them_as_a_message(village: Practice):
    await village.at("21:30")
    await writes(village, "Who comes on Friday?")
    await sets(village, away_from="2026-03-03", away_until="2026-03-10")
    await village.at("07:30")
    assert "Mary writes:\nWho comes on Friday?" in village.heard("rua")[-1]


@pytest.mark.parametrize(
    ("way", "listed", "said"),
    [
        ("now", False, "I have told Rua"),
        ("list", True, "waits on the list that Rua gets tomorrow at 07:00"),
        ("off", False, "kept where Rua can read it"),
    ],
)
async def test_each_kind_comes_as_the_coach_has_chosen(
    village: Practice, way: str, listed: bool, said: str
):
    await sets(village, **{WAYS: {"tests": way}, QUIET_FROM: None})
    await village.at("07:00")
    await village.good_morning()
    await asks(village, "Mary", "30-second arm")
    before = len(village.heard("rua"))
    await village.taps("mary", "I'd rather not")
    assert said in village.last_to("mary")
    assert bool(village.heard("rua", before)) is (way == "now")
    await village.at("07:30", days=1)
    newest = village.last_to("rua")
    assert newest.startswith("Good morning")
    assert ("Mary did not finish a home test" in newest) is listed


async def test_words_that_wait_go_with_the_client_to_another_coach(village: Practice):
    await another_coach(village)
    await village.at("19:30")
    await village.says("rua", "Mary")
    await village.taps("rua", "More", "Another coach", "Sam")
    asked = village.newest_buttons("mary").outgoing
    yes = next(c.value for row in asked.choices for c in row if c.label.startswith("Yes"))
    shown = village.newest_buttons("mary").platform_id
    await village.at("21:30")
    await writes(village, "Shall I take the pill at night?")
    await village.at("21:40")
    await village.taps_value("mary", yes, shown)
    await village.at("07:30")
    assert any("Shall I take the pill" in text for text in village.heard("sam"))
    assert not any("Shall I take the pill" in text for text in village.heard("rua"))


async def test_words_that_wait_go_with_clients_whom_the_operator_moves(village: Practice):
    await another_coach(village)
    await village.at("21:30")
    await writes(village, "Shall I take the pill at night?")

    def move(unit: UnitOfWork) -> None:
        applying = Applying(unit, village.ids["rua"], village.clock.now(), str)
        move_clients(applying, village.ids["rua"], village.ids["sam"])
        unit.commit()

    await village.app.database.run(move)
    await village.at("07:30")
    assert any("Shall I take the pill" in text for text in village.heard("sam"))


async def test_words_of_a_list_that_finds_her_chat_closed_go_to_the_stand_in(village: Practice):
    await village.coach("Kiri", backup_of="rua")
    await village.at("21:30")
    await writes(village, "Who comes on Friday?")
    village.channel.close_chat("rua")
    await village.at("07:30")
    assert sum("Who comes on Friday?" in text for text in village.heard("kiri")) == 1


async def test_without_a_stand_in_she_reads_that_no_list_came_and_the_words_wait(
    village: Practice,
):
    await village.at("21:30")
    await writes(village, "Who comes on Friday?")
    village.channel.close_chat("rua")
    await village.at("07:30")
    await village.at("07:30")
    lines = [text for text in village.heard("mary") if "Rua did not get what I sent" in text]
    assert len(lines) == 1
    village.channel.open_chat("rua")
    await village.says("rua", "/clients")
    await village.at("07:30")
    assert sum("Who comes on Friday?" in text for text in village.heard("rua")) == 1


async def test_words_of_a_list_that_her_open_chat_does_not_get_come_as_messages(
    village: Practice, monkeypatch: pytest.MonkeyPatch
):
    send = village.channel.send

    async def refusing(address: str, outgoing: Outgoing) -> str:
        if outgoing.text.startswith("Good morning"):
            raise Rejected("not like this")
        return await send(address, outgoing)

    monkeypatch.setattr(village.channel, "send", refusing)
    await village.at("21:30")
    await writes(village, "Who comes on Friday?")
    await village.at("07:30")
    told = [text for text in village.heard("rua") if "Who comes on Friday?" in text]
    assert len(told) == 1
    assert not [text for text in village.heard("mary") if "did not get" in text]
    monkeypatch.undo()
    await village.at("07:30")
    (newest,) = [text for text in village.heard("rua") if text.startswith("Good morning")]
    assert "Friday" not in newest


@pytest.mark.parametrize("fails", [(1, 2), (2, 1)])
async def test_of_two_lists_on_their_way_each_gives_back_its_own(
    village: Practice, fails: tuple[int, int]
):
    rua, mary, now = village.ids["rua"], village.ids["mary"], village.clock.now()

    def waiting(unit: UnitOfWork) -> tuple[Waits, ...]:
        unit.session.flush()
        facts = StoreFacts(unit, get_person(unit, rua), now, reference())
        return facts.desk(rua).waiting

    def two_lists(unit: UnitOfWork) -> None:
        what = "menu/message_from_client"
        at = int(now.timestamp())
        for nth in (1, 2):
            then = now + timedelta(seconds=nth)
            applying = Applying(unit, rua, then, str)
            apply_all(applying, [KeepForList(rua, mary, what)])
            apply_all(applying, [TakeOffList(rua, waiting(unit), by_list=at + nth)])
        assert waiting(unit) == ()
        for count, nth in enumerate(fails, start=1):
            assert list_never_came(unit, rua, {at + nth}, is_open=True)
            assert len(waiting(unit)) == count
        assert not list_never_came(unit, rua, {at + 1, at + 2}, is_open=True)
        unit.undo()

    await village.app.database.run(two_lists)
