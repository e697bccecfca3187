"""What a client may set: when to be asked, days and length of sessions, the floor, a time away."""

from datetime import date, timedelta

from bot.flows.changes import SaveProfile, SetAway, SetSchedule
from bot.flows.facts import Facts
from bot.flows.machine import Begin, Button, Event, EventKind, Rows, Say, State, Turn, rows_of
from bot.flows.parsing import Reask, read_clock, read_coming_day
from bot.flows.record.profile import FLOOR_WORK, MINUTES
from core.programme.session_time import choices_for, minutes_of

NAME = "settings"
ONE_DAY = True
"""A time away begins on the day on which it is tapped: yesterday's buttons do nothing."""
SLOT = "settings"
EARLIEST, LATEST = "04:00", "13:00"
LONGEST_AWAY = timedelta(days=180)
LATEST_START = timedelta(days=365)
AWAY_DAYS = {"week": 7, "fortnight": 14, "month": 30}
FIRST_DAYS = {"saturday": 6, "monday": 1}
"""First days away to tap, beside tomorrow: ISO weekdays."""


def step(state: State, event: Event, facts: Facts) -> Turn:
    """Take one event (see :mod:`bot.flows.machine`)."""
    value = event.value.strip()
    if event.kind is EventKind.DUE:
        return Turn(None)
    if event.kind is EventKind.BEGIN and event.args.get("away"):
        return _ask(state.at("away", days=[]), facts)
    if event.kind is EventKind.BEGIN and event.args.get("length"):
        return _ask(state.at("length", days=[]), facts)
    if event.kind is EventKind.BEGIN or value == "back":
        return _ask(state.at("what"), facts)
    if event.kind is EventKind.RESUME:
        return _ask(state, facts)
    if state.step == "what":
        if value == "finish":
            return Turn(None, says=(Say("settings/closed", slot=SLOT),))
        if value == "answers":
            return Turn(None, begin=(Begin("join", {"review": True}),))
        if value in ("time", "days", "away", "length", "floor", "week_word"):
            days = list(facts.client(facts.me.id).client.training_days)
            return _ask(state.at(value, days=days), facts)
    if state.step == "time":
        return _time(state, value, facts)
    if state.step == "days":
        return _days(state, value, facts)
    if state.step in ("away", "away_to"):
        return _away(state, value, facts)
    if state.step == "away_from":
        return _away_from(state, value, facts)
    if state.step == "length":
        return _length(state, value, facts)
    if state.step == "floor":
        return _floor(state, value, facts)
    if state.step == "week_word":
        return _week_word(state, value, facts)
    return Turn(state, understood=False)


def _week_word(state: State, value: str, facts: Facts) -> Turn:
    """On which day the word of the week comes, or that none does."""
    day = {"no_word": "0"}.get(value, value.removeprefix("day="))
    if day not in ("0", "1", "2", "3", "4", "5", "6", "7"):
        return Turn(state, understood=False)
    saved = SetSchedule(facts.me.id, week_word_day=int(day))
    return _saved(saved, {"what": "week_word", "days": [int(day)] if day != "0" else []})


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
    """How long, from today or from the first day that was told; or that it is over."""
    today = facts.me.local(facts.now).date()
    if state.step == "away" and value == "home":
        record = facts.client(facts.me.id)
        begun = record.away_until is None or record.is_away(today)
        return _saved(SetAway(facts.me.id, None), {"what": "home" if begun else "stays"})
    if state.step == "away" and value == "later":
        return _ask(state.at("away_from"), facts)
    begins = _begins(state)
    first = begins or today
    if value in AWAY_DAYS:
        # Of a time to come the first day is one of its days.
        until = first + timedelta(days=AWAY_DAYS[value] - (begins is not None))
    else:
        told = read_coming_day(value, first, facts.reference.words)
        if isinstance(told, Reask) or date.fromisoformat(told) > first + LONGEST_AWAY:
            return Turn(state, understood=False)
        until = date.fromisoformat(told)
    saved = SetAway(facts.me.id, until, begins)
    return _saved(saved, {"what": "away", "begins": begins, "until": until})


def _begins(state: State) -> date | None:
    """The first day of a time away that does not begin today."""
    return date.fromisoformat(state.answers["begins"]) if state.step == "away_to" else None


def _away_from(state: State, value: str, facts: Facts) -> Turn:
    """The first day away; the last one is asked next."""
    today = facts.me.local(facts.now).date()
    tomorrow = today + timedelta(days=1)
    if value == "tomorrow":
        begins = tomorrow
    elif value in FIRST_DAYS:
        begins = tomorrow + timedelta(days=(FIRST_DAYS[value] - tomorrow.isoweekday()) % 7)
    else:
        told = read_coming_day(value, today, facts.reference.words)
        if isinstance(told, Reask) or date.fromisoformat(told) > today + LATEST_START:
            return Turn(state, understood=False)
        begins = date.fromisoformat(told)
    return _ask(state.at("away_to", begins=begins.isoformat()), facts)


def _length(state: State, value: str, facts: Facts) -> Turn:
    """Minutes of a session, by button or typed; "0" for no limit."""
    told = value.removeprefix("minutes=")
    table = facts.reference.catalogue.steering
    if told not in {str(one) for one in choices_for(facts.client(facts.me.id).client, table)}:
        return Turn(state, understood=False)
    changed = SaveProfile(facts.me.id, {MINUTES: int(told)})
    return _saved(changed, {"what": "length", "minutes": int(told)})


def _floor(state: State, value: str, facts: Facts) -> Turn:
    if value not in ("on_floor", "off_floor"):
        return Turn(state, understood=False)
    wanted = value == "on_floor"
    return _saved(SaveProfile(facts.me.id, {FLOOR_WORK: wanted}), {"what": value})


def _saved(change: SetSchedule | SetAway | SaveProfile, values: dict[str, object]) -> Turn:
    return Turn(None, says=(Say("settings/saved", values, slot=SLOT),), changes=(change,))


def _ask(state: State, facts: Facts) -> Turn:
    record = facts.client(facts.me.id)
    table = facts.reference.catalogue.steering
    days = [int(day) for day in state.answers.get("days", ())]
    floor = bool(record.answers.get("floor"))
    rows: Rows = {
        "what": rows_of(
            "time days",
            f"length{' floor' if floor else ''}",
            "week_word",
            "away",
            "answers",
            "finish",
        ),
        "time": rows_of("at=07:00 at=07:30", "at=08:00 at=08:30", "at=09:00 at=10:00", "back"),
        "days": _day_rows(days),
        "week_word": (*_day_rows([])[:2], *rows_of("no_word", "back")),
        "away": rows_of("week fortnight month", "later", "home", "back"),
        "away_from": rows_of("tomorrow saturday monday", "back"),
        "away_to": rows_of("week fortnight month", "back"),
        "length": (
            tuple(Button(f"minutes={one}") for one in choices_for(record.client, table)),
            *rows_of("back"),
        ),
        "floor": rows_of("on_floor off_floor", "back"),
    }[state.step]
    values = {
        "checkin_at": record.client.checkin_at,
        "training_days": list(record.client.training_days),
        "away_from": record.away_from,
        "away_until": record.away_until,
        "begins": date.fromisoformat(state.answers["begins"])
        if "begins" in state.answers
        else None,
        "week_word_day": record.week_word_day,
        "quiet_from": record.quiet_from,
        "quiet_until": record.quiet_until,
        "days": days,
        "minutes": minutes_of(record.client, table) or 0,
        "floor": record.client.floor_ok,
        "able": floor,
    }
    return Turn(state, says=(Say(f"settings/ask_{state.step}", values, rows=rows, slot=SLOT),))


def _day_rows(chosen: list[int]) -> Rows:
    """Seven days, each with a mark in words when it is chosen, and done."""
    buttons = tuple(Button(f"day={day}") for day in range(1, 8))
    finish: Rows = ((Button("done"),),) if chosen else ()
    return (buttons[:4], buttons[4:], *finish, (Button("back"),))
