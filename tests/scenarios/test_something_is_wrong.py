""" "Something is wrong", tapped on the way, and then silence: the coach hears of it."""

import pytest

from bot.flows.reasons import Reason
from bot.storage.facts import StoreFacts
from bot.storage.people import get_person
from bot.storage.tables import ClientRow
from core.vocabulary import AlertLevel, Sign
from tests.support.facts import reference
from tests.support.practice import Practice
from tests.support.sessions import begin

WALK = ("10", "3", "Start", "I go now")
WRONG = "Something is wrong"
WHY = Reason("coach", "something_wrong")


async def alert_of(village: Practice):
    """The open alert of Mary, if any."""

    def ask(unit):
        me = get_person(unit, village.ids["mary"])
        return StoreFacts(unit, me, village.clock.now(), reference()).open_alert(me.id)

    return await village.app.database.run(ask)


async def on_a_walk(village: Practice) -> None:
    await village.at("09:00")
    await village.good_morning()
    await village.says("mary", "walk")
    await village.taps("mary", *WALK)


async def asked_on_a_walk(village: Practice) -> None:
    await on_a_walk(village)
    await village.wait(21)


async def in_a_session(village: Practice) -> None:
    await village.at("07:00")
    await begin(village)
    await village.taps("mary", "Stop")


async def at_the_sink(village: Practice) -> None:
    await village.at("07:00")
    await village.good_morning()

    def no_session_today(unit):
        today = village.clock.now().isoweekday()
        row = unit.session.get_one(ClientRow, village.ids["mary"])
        row.training_days = str((today + 2) % 7 + 1)
        unit.commit()

    await village.app.database.run(no_session_today)
    await village.at("10:00")
    await village.says("mary", "balance")
    await village.taps("mary", "Start", "No, none")


async def assert_heard(village: Practice) -> None:
    await village.wait(4)
    assert await alert_of(village) is None
    await village.wait(2)
    alert = await alert_of(village)
    assert alert is not None
    assert (alert.level, alert.signs) == (AlertLevel.URGENT, (Sign.SILENT_SESSION,))
    assert WHY in alert.words
    assert any("something is wrong" in said for said in village.heard("rua"))
    assert village.last_to("mary").startswith("If you need help, call ")


async def test_something_is_wrong_on_a_walk_and_then_silence(village: Practice):
    await on_a_walk(village)
    await village.taps("mary", WRONG)
    await assert_heard(village)


async def test_something_is_wrong_after_all_right_and_then_silence(village: Practice):
    await asked_on_a_walk(village)
    await village.taps("mary", WRONG)
    await assert_heard(village)


async def test_something_is_wrong_in_a_session_and_then_silence(village: Practice):
    await in_a_session(village)
    await village.taps("mary", WRONG)
    await assert_heard(village)


async def test_something_is_wrong_at_the_sink_and_then_silence(village: Practice):
    await at_the_sink(village)
    await village.taps("mary", WRONG)
    await assert_heard(village)


async def test_something_is_wrong_half_answered_or_asked_anew_and_then_silence(village: Practice):
    await on_a_walk(village)
    await village.taps("mary", WRONG, "Pain in a joint")
    await village.says("mary", "/unwell")
    await assert_heard(village)


async def test_something_is_wrong_and_then_answered_is_no_silence(village: Practice):
    await on_a_walk(village)
    await village.taps("mary", WRONG, "Ill or fever")
    await village.wait(60)
    assert await alert_of(village) is None


async def test_what_is_wrong_can_be_told_after_the_alert(village: Practice):
    await on_a_walk(village)
    await village.taps("mary", WRONG)
    await village.wait(6)
    said = await village.taps("mary", "Ill or fever")
    assert not any("does nothing" in one for one in said)


async def outside(village: Practice, *said: str) -> None:
    """Typed on a day without a session or walk, and what is said after it."""
    await village.at("10:00")
    assert "call 111 now" in (await village.says("mary", "something is wrong"))[-1]
    for label in said:
        await village.taps("mary", label)


@pytest.mark.parametrize("half_told", [(), ("Pain in a joint",), ("Something else",)])
async def test_outside_a_session_silence_is_asked_about_and_then_told(
    village: Practice, half_told: tuple[str, ...]
):
    await outside(village, *half_told)
    await village.wait(11)
    assert village.last_to("mary").startswith("You told me that something is wrong")
    assert await alert_of(village) is None
    await village.wait(6)
    alert = await alert_of(village)
    assert alert is not None
    assert (alert.level, alert.signs) == (AlertLevel.URGENT, (Sign.UNSURE,))
    assert WHY in alert.words
    assert any("something is wrong" in said for said in village.heard("rua"))
    assert "I have told Rua." in village.last_to("mary")


async def test_outside_a_session_who_is_fine_or_tells_is_not_told_of(village: Practice):
    await outside(village)
    await village.wait(11)
    assert (await village.taps("mary", "I am fine"))[0].startswith("Good to hear.")
    await village.wait(60)
    await outside(village, "Ill or fever")
    await village.wait(60)
    assert await alert_of(village) is None


async def test_outside_a_session_what_is_wrong_can_be_told_when_asked_again(village: Practice):
    await outside(village)
    await village.wait(11)
    await village.taps("mary", "Something is wrong")
    await village.wait(6)
    assert await alert_of(village) is not None


FIRST = "You told me that something is wrong. I must know that first. What is it?"


@pytest.mark.parametrize("asked", ["/today", "walk", "balance", "/checkin"])
async def test_until_it_is_told_what_is_wrong_that_is_asked_before_any_training(
    village: Practice, asked: str
):
    await village.at("08:00")
    await village.good_morning()
    await village.says("mary", "something is wrong")
    said = await village.says("mary", asked)
    assert len(said) == 1
    assert said[0].startswith(FIRST)


async def test_asked_first_and_no_answer_is_silence_all_the_same(village: Practice):
    await outside(village)
    await village.says("mary", "/today")
    await village.wait(11)
    await village.wait(6)
    alert = await alert_of(village)
    assert alert is not None
    assert WHY in alert.words


@pytest.mark.parametrize("tapped", ["start", "short", "away", "sink", "walk"])
async def test_an_old_list_asks_first_and_who_is_fine_gets_what_was_asked_for(
    village: Practice, tapped: str
):
    await village.at("08:00")
    await village.good_morning()
    await village.says("mary", "/today")
    screen = village.newest_buttons("mary")
    start = next(one for row in screen.outgoing.choices for one in row if "start" in one.value)
    await village.says("mary", "something is wrong")
    old = start.value.replace("start", tapped)
    said = await village.taps_value("mary", old, screen.platform_id)
    assert said[-1].startswith(FIRST)
    said = await village.taps("mary", "I am fine")
    assert said[0].startswith("Good to hear.")
    assert "Your session today" in said[-1]


async def test_something_else_and_then_today_is_no_answer(village: Practice):
    await village.at("08:00")
    await village.good_morning()
    await village.says("mary", "something is wrong")
    await village.taps("mary", "Something else")
    said = await village.says("mary", "today")
    assert said[-1].startswith(FIRST)


@pytest.mark.parametrize("how", ["Leave", "Leave and erase"])
async def test_who_leaves_before_it_is_told_what_is_wrong_is_told_of_at_once(
    village: Practice, how: str
):
    await outside(village)
    await village.says("mary", "my data")
    await village.taps("mary", how)
    await village.taps("mary", "Yes")
    alert = await alert_of(village)
    assert alert is not None
    assert (alert.level, alert.signs) == (AlertLevel.URGENT, (Sign.UNSURE,))
    assert any("Then left without saying what it is" in said for said in village.heard("rua"))
    assert any("Their alert is still open" in said for said in village.heard("rua"))


async def test_a_coach_who_ends_it_then_reads_of_it_too(village: Practice):
    await outside(village)
    await village.says("rua", "Mary")
    await village.taps("rua", "More")
    await village.taps("rua", "Client leaves")
    await village.taps("rua", "Yes, end it")
    assert await alert_of(village) is not None


def labels(village: Practice) -> list[str]:
    """The buttons of the newest question that Mary reads."""
    return [one.label for row in village.newest_buttons("mary").outgoing.choices for one in row]


async def due_while_it_is_asked_what_is_wrong(village: Practice) -> None:
    """It is 07:00, Mary's time for the check-in, five minutes after something was wrong."""
    await village.at("06:55")
    await village.says("mary", "something is wrong")
    await village.at("07:01")
    assert village.last_to("mary").startswith(FIRST)


@pytest.mark.parametrize(
    "told",
    [("I am fine",), ("Pain in a joint or muscle", "Knee", "2"), ("Ill or fever",)],
    ids=["fine", "pain", "ill"],
)
async def test_a_checkin_that_was_due_meanwhile_comes_when_it_is_told(
    village: Practice, told: tuple[str, ...]
):
    await due_while_it_is_asked_what_is_wrong(village)
    await village.taps("mary", *told)
    assert "None of these" in labels(village)


async def test_a_checkin_that_was_due_meanwhile_comes_after_words_and_asked_anew(
    village: Practice,
):
    await due_while_it_is_asked_what_is_wrong(village)
    await village.says("mary", "/unwell")
    await village.taps("mary", "Something else")
    await village.says("mary", "the neighbour's dog has run away")
    assert "None of these" in labels(village)


async def test_who_is_fine_after_a_silence_gets_the_checkin_that_was_due(village: Practice):
    await due_while_it_is_asked_what_is_wrong(village)
    await village.wait(11)
    await village.taps("mary", "I am fine")
    assert "None of these" in labels(village)


async def test_a_sign_told_then_brings_no_checkin(village: Practice):
    await due_while_it_is_asked_what_is_wrong(village)
    await village.taps("mary", "! Chest, breath, dizzy or faint")
    assert "None of these" not in labels(village)
