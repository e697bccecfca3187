"""A client who takes longer than reckoned gets a session that still ends in time."""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from core.dose.history import History, SessionDone
from core.dose.pace import own_pace
from core.dose.session import around_minutes
from core.programme.day import session_of_day
from core.readiness.morning_questions import Morning
from core.readiness.readiness import assess
from tests.core.movements.people import catalogue, client
from tests.support.programme_lives import live, minutes_taken

MONDAY = date(2026, 3, 2)


def next_session(history: History, on: date):
    usual = [Morning(on - timedelta(days=back), 4, 4, 4, 4, 4) for back in range(20, 0, -1)]
    readiness = assess(usual, Morning(on, 4, 4, 4, 4, 4), client(), on=on)
    return session_of_day(client(), history, readiness, catalogue(), on)


def test_the_work_shrinks_by_the_clients_own_pace():
    history = list(live(client(), catalogue(), MONDAY, weeks=3))[-1].before
    slow = tuple(
        SessionDone(one.on, effort=5, minutes=10 + round(1.5 * (one.minutes - 10)))
        for one in history.sessions
    )
    on = MONDAY + timedelta(weeks=3)
    usual = next_session(history, on)
    slower = next_session(replace(history, sessions=slow), on)
    assert usual.minutes <= 25
    assert slower.minutes <= 25
    work = minutes_taken(slower, catalogue()) - 10
    assert work < minutes_taken(usual, catalogue()) - 10
    assert work <= 0.8 * (25 - 10)
    assert 10 + 1.3 * work <= 1.1 * 25


@pytest.mark.parametrize("minutes", [25, 0])
def test_who_takes_as_long_as_announced_is_not_slow(minutes: int):
    """Else each session would be announced longer than the one before, or hold less."""
    someone = replace(client(), session_minutes=minutes)
    last = list(live(someone, catalogue(), MONDAY, weeks=4))[-1]
    around = around_minutes(someone, catalogue().steering, minutes or None)
    pace = own_pace(last.before, catalogue(), last.on, around_minutes=around)
    assert pace <= 1.05


def test_sets_told_in_one_take_as_long_as_sets_told_one_by_one():
    """A chat keeps the sets of a movement as one; else whoever does three holds is slow."""
    last = list(live(client(), catalogue(), MONDAY, weeks=4))[-1]
    by_one = last.before
    alike = {(one.on, one.family): one for one in by_one.sets}
    told = tuple(
        replace(one, sets=sum((each.on, each.family) == key for each in by_one.sets))
        for key, one in alike.items()
    )
    assert len(told) < len(by_one.sets)
    around = around_minutes(client(), catalogue().steering, 25)
    assert own_pace(
        replace(by_one, sets=told), catalogue(), last.on, around_minutes=around
    ) == pytest.approx(own_pace(by_one, catalogue(), last.on, around_minutes=around))
