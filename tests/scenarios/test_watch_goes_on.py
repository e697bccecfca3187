"""A watch over silence never ends unsaid: it goes on until somebody is heard, or both are told."""

import pytest
from sqlmodel import select

from bot.flows.facts import Alert
from bot.storage.tables import ClientRow, SessionRow
from bot.storage.unit import UnitOfWork
from core.vocabulary import AlertLevel, Sign
from tests.scenarios.test_home_tests import asks
from tests.scenarios.test_session_over_midnight import at_a_movement, beside_the_sink
from tests.scenarios.test_something_is_wrong import (
    WRONG,
    alert_of,
    at_the_sink,
    in_a_session,
    on_a_walk,
)
from tests.support.practice import Practice
from tests.support.sessions import begin, values


async def in_a_test(village: Practice) -> None:
    """A home test that the coach asked for, begun."""
    await village.at("07:00")
    await village.good_morning()
    await asks(village, "Mary", "30-second chair")
    await village.taps("mary", "Go on", "Yes, somebody", "I am ready")


STARTS = {"walk": on_a_walk, "session": in_a_session, "sink": at_the_sink, "test": in_a_test}


async def paused(village: Practice, why: str = "Another reason") -> list[str]:
    """The coach pauses Mary's training; what is said anywhere."""
    await village.says("rua", "Mary")
    return await village.taps("rua", "Pause training", why, "Until I end it")


async def silence_alert(village: Practice) -> Alert:
    alert = await alert_of(village)
    assert alert is not None
    assert (alert.level, alert.signs) == (AlertLevel.URGENT, (Sign.SILENT_SESSION,))
    return alert


@pytest.mark.parametrize("start", STARTS)
async def test_a_pause_on_the_way_asks_and_then_tells_the_coach(village: Practice, start: str):
    await STARTS[start](village)
    said = await paused(village)
    assert any("stop your" in one and "Is all well?" in one for one in said)
    assert any(one.startswith("Mary was ") and "asked" in one for one in said)

    await village.wait(11)
    assert village.last_to("mary").startswith("Is all well, Mary?")
    assert await alert_of(village) is None
    await village.wait(5)

    await silence_alert(village)
    assert any("URGENT: Mary" in one for one in village.heard("rua"))


async def test_whoever_is_fine_after_a_pause_is_left_alone(village: Practice):
    await on_a_walk(village)
    await paused(village)
    said = await village.taps("mary", "I am fine")
    assert said == ["Good to hear.\nYour training is paused for now, so no session goes on."]
    before = len(village.heard("mary"))
    await village.wait(60)
    assert await alert_of(village) is None
    assert village.heard("mary", before) == []


async def test_something_is_wrong_after_a_pause_and_then_silence(village: Practice):
    await on_a_walk(village)
    await paused(village)
    await village.says("mary", "something is wrong")
    await village.wait(6)
    await silence_alert(village)


async def test_a_pause_for_the_hospital_ends_the_watch_with_a_word_to_both(village: Practice):
    await on_a_walk(village)
    said = await paused(village, "In hospital")
    assert any(one.startswith("I no longer watch over your walk.") for one in said)
    assert any("I watch over it no longer" in one for one in said)
    before = len(village.heard("mary"))
    await village.wait(60)
    assert village.heard("mary", before) == []


async def test_a_pause_with_nothing_on_the_way_asks_nothing(village: Practice):
    await village.at("09:00")
    await village.good_morning()
    said = await paused(village)
    assert not any("Is all well?" in one for one in said)


@pytest.mark.parametrize("how", ["Leave", "Leave and erase"])
async def test_leaving_on_the_way_ends_the_watch_with_a_word_to_both(village: Practice, how: str):
    await on_a_walk(village)
    await village.says("mary", "my data")
    said = await village.taps("mary", how, "Yes")
    assert any(one.startswith("I no longer watch over your walk.") for one in said)
    assert any("They were on a walk just then." in one for one in said)
    before = len(village.heard("mary"))
    await village.wait(60)
    assert village.heard("mary", before) == []
    assert await alert_of(village) is None


async def test_something_is_wrong_after_all_right_has_one_watch(village: Practice):
    """The session's own timer ends: its questions have a watch that each answer starts anew."""
    await village.at("07:00")
    await begin(village)
    await village.wait(11)
    await village.taps("mary", WRONG, "Pain in a joint")

    def rows(unit: UnitOfWork) -> tuple[str, bool]:
        (session,) = unit.session.exec(select(SessionRow)).all()
        return session.status, session.silence_due_at is None

    assert await village.app.database.run(rows) == ("stopped", True)
    await village.wait(6)
    await silence_alert(village)


async def test_something_is_wrong_after_all_right_and_answered_is_no_silence(village: Practice):
    await village.at("07:00")
    await begin(village)
    await village.wait(11)
    await village.taps("mary", WRONG, "Ill or fever")
    await village.wait(60)
    assert await alert_of(village) is None


async def test_a_home_test_is_watched_whatever_becomes_of_the_day(village: Practice):
    """A clearance that ends closes the way into a test, not the watch over one."""
    await in_a_test(village)

    def not_cleared(unit: UnitOfWork) -> None:
        unit.session.get_one(ClientRow, village.ids["mary"]).cleared_at = None
        unit.commit()

    await village.app.database.run(not_cleared)
    await village.wait(16)
    await silence_alert(village)


async def test_my_day_after_midnight_goes_on_with_the_session_that_runs(village: Practice):
    await at_a_movement(village)
    await village.at("00:02")
    said = await village.says("mary", "/today")
    assert "You have a session going" in said[0]
    assert any(value.startswith("did=") for value in values(village))


async def test_balance_after_midnight_goes_on_with_the_hold_that_runs(village: Practice):
    await beside_the_sink(village)
    await village.at("00:02")
    await village.says("mary", "/today")
    assert "steady" in values(village)


async def test_a_clearance_that_ends_in_a_session_ends_it_with_a_word(village: Practice):
    """The monthly question is answered in the middle of it."""
    await village.client("Nell", cleared_on="2026-01-05")
    await village.at("07:00")
    await village.good_morning("nell")
    shown = village.newest_buttons("nell")
    (operated,) = (
        one.value
        for row in shown.outgoing.choices
        for one in row
        if one.label == "I had an operation"
    )
    await village.says("nell", "/today")
    await village.taps("nell", "Start", "I am ready")

    said = await village.taps_value("nell", operated, shown.edits or shown.platform_id)

    assert said[0].startswith("Please stop your session now.")
    before = len(village.heard("nell"))
    await village.wait(60)
    assert village.heard("nell", before) == []


async def test_fine_is_answered_by_what_the_day_allows(village: Practice):
    """A clearance that has ended by itself: nobody is told to carry on."""
    await village.at("07:00")
    await begin(village)
    await village.wait(11)

    def not_cleared(unit: UnitOfWork) -> None:
        unit.session.get_one(ClientRow, village.ids["mary"]).cleared_at = None
        unit.commit()

    await village.app.database.run(not_cleared)
    said = await village.taps("mary", "I am fine")
    assert said == ["Good to hear.\nYour training is paused for now, so no session goes on."]
    await village.wait(30)
    assert await alert_of(village) is None
