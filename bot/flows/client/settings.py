"""What a client may set: when to be asked, which days to train, a time away, quiet hours."""

from datetime import date, timedelta

from bot.flows.changes import SetAway, SetSchedule
from bot.flows.facts import Facts
from bot.flows.machine import Begin, Button, Event, EventKind, Rows, Say, State, Turn, rows_of
from bot.flows.parsing import Reask, read_clock

NAME = "settings"
ONE_DAY = True
"""A time away begins on the day on which it is tapped: yesterday's buttons do nothing."""
SLOT = "settings"
EARLIEST, LATEST = "04:00", "13:00"
AWAY_DAYS = {"week": 7, "fortnight": 14, "month": 30}


def step(state: State, event: Event, facts: Facts) -> Turn:
    """Take one event (see :mod:`bot.flows.machine`)."""
    value = event.value.strip()
    if event.kind is EventKind.DUE:
        return Turn(None)
    if event.kind is EventKind.BEGIN and event.args.get("away"):
        return _ask(state.at("away", days=[]), facts)
    if event.kind is EventKind.BEGIN or value == "back":
        return _ask(state.at("what"), facts)
    if event.kind is EventKind.RESUME:
        return _ask(state, facts)
    if state.step == "what":
        if value == "finish":
            return Turn(None, says=(Say("settings/closed", slot=SLOT),))
        if value == "answers":
            return Turn(None, begin=(Begin("join", {"review": True}),))
        if value in ("time", "days", "away"):
            days = list(facts.client(facts.me.id).client.training_days)
            return _ask(state.at(value, days=days), facts)
    if state.step == "time":
        return _time(state, value, facts)
    if state.step == "days":
        return _days(state, value, facts)
    if state.step == "away":
        return _away(state, value, facts)
    return Turn(state, understood=False)


def _time(state: State, value: str, facts: Facts) -> Turn:
    at = read_clock(value.removeprefix("at="), EARLIEST, LATEST, facts.reference.words)
    if isinstance(at, Reask):
        return Turn(state, understood=False)
    return _saved(SetSchedule(facts.me.id, checkin_at=at), {"what": "time", "at": at})


def _days(state: State, value: str, facts: Facts) -> Turn:
    days = [int(day) for day in state.answers["days"]]
    if value == "done" and days:
        changed = SetSchedule(facts.me.id, training_days=tuple(sorted(days)))
        return _saved(changed, {"what": "days", "days": sorted(days)})
    number = value.removeprefix("day=")
    if number in ("1", "2", "3", "4", "5", "6", "7"):
        day = int(number)
        days = [kept for kept in days if kept != day] if day in days else [*days, day]
        return _ask(state.at("days", days=days), facts)
    return Turn(state, understood=False)


def _away(state: State, value: str, facts: Facts) -> Turn:
    today = facts.me.local(facts.now).date()
    if value == "home":
        return _saved(SetAway(facts.me.id, None), {"what": "home"})
    if value in AWAY_DAYS:
        until: date = today + timedelta(days=AWAY_DAYS[value])
        return _saved(SetAway(facts.me.id, until), {"what": "away", "until": until})
    return Turn(state, understood=False)


def _saved(change: SetSchedule | SetAway, values: dict[str, object]) -> Turn:
    return Turn(None, says=(Say("settings/saved", values, slot=SLOT),), changes=(change,))


def _ask(state: State, facts: Facts) -> Turn:
    record = facts.client(facts.me.id)
    days = [int(day) for day in state.answers.get("days", ())]
    rows: Rows = {
        "what": rows_of("time days", "away", "answers", "finish"),
        "time": rows_of("at=07:00 at=07:30", "at=08:00 at=08:30", "at=09:00 at=10:00", "back"),
        "days": _day_rows(days),
        "away": rows_of("week fortnight month", "home", "back"),
    }[state.step]
    values = {
        "checkin_at": record.client.checkin_at,
        "training_days": list(record.client.training_days),
        "away_until": record.away_until,
        "quiet_from": record.quiet_from,
        "quiet_until": record.quiet_until,
        "days": days,
    }
    return Turn(state, says=(Say(f"settings/ask_{state.step}", values, rows=rows, slot=SLOT),))


def _day_rows(chosen: list[int]) -> Rows:
    """Seven days, each with a mark in words when it is chosen, and done."""
    buttons = tuple(Button(f"day={day}") for day in range(1, 8))
    finish: Rows = ((Button("done"),),) if chosen else ()
    return (buttons[:4], buttons[4:], *finish, (Button("back"),))
