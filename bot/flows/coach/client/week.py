"""A client's weeks with the coach's eyes: which families on which day; changed and copied by tap.

Opened with ``client``. What she sets passes all rules of the client who gets it, on the day itself;
what they leave out is named here at once.
"""

from collections.abc import Sequence

from bot.flows.changes import Audit, SaveProfile
from bot.flows.coach.rights import client_for_me, client_of_turn, not_yours
from bot.flows.facts import ClientRecord, Facts
from bot.flows.forms import ASKED
from bot.flows.machine import (
    Begin,
    Button,
    Event,
    EventKind,
    Rows,
    Say,
    State,
    Turn,
    not_understood,
    rows_of,
)
from bot.flows.record.profile import MINUTES, WEEK, WEEK_BEFORE
from bot.flows.record.walks import WALKS_SET, walk_week_of, walks_set
from bot.json_values import JsonValue
from core.client.set_week import WeekStart
from core.programme.groups import DOING_ORDER
from core.programme.session_time import choices_for
from core.programme.walking import may_walk
from core.programme.week import PlannedDay, Week, week_of
from core.vocabulary import Family

NAME = "coach_week"
SLOT = "week"
WEEKDAYS = tuple(str(day) for day in range(1, 8))
WALK_MINUTES = ("5", "10", "15", "20", "30", "45")
WALK_DAYS = ("2", "3", "4", "5", "7")


def step(state: State, event: Event, facts: Facts) -> Turn:
    """The two weeks, one day of them, or the client whose week is taken over."""
    opening = event.kind is EventKind.BEGIN
    record = client_of_turn(state, event, facts)
    if record is None:
        return not_yours()
    if opening:
        day = str(event.args.get("day", ""))
        answers = {"client": str(record.id), "day": day}
        return _ask(State(NAME, "weekday" if day in WEEKDAYS else "weeks", answers), record, facts)
    if event.kind in (EventKind.RESUME, EventKind.DUE):
        return _ask(state, record, facts)
    if event.kind is not EventKind.TAP:
        return not_understood(state)
    what, _, code = event.value.rpartition(ASKED)
    if code == "back":
        return _ask(state.at("weeks", day=""), record, facts)
    if state.step == "weekday":
        return _day_tapped(state, what, code, record, facts)
    if state.step == "copy":
        return _copied(state, code, record, facts)
    if state.step in ("walk_minutes", "walk_days"):
        return _walks_tapped(state, code, record, facts)
    return _weeks_tapped(state, what, code, record, facts)


def _weeks_tapped(state: State, what: str, code: str, record: ClientRecord, facts: Facts) -> Turn:
    if what == "day" and code in WEEKDAYS:
        return _ask(state.at("weekday", day=code), record, facts)
    if what == "start" and code in set(WeekStart):
        return _set(record, {**_kept(record), "start": code}, f"start:{code}")
    if what == "minutes" and code in _minutes(record, facts):
        audit = Audit(record.id, "limit_changed", f"session_minutes:{code}")
        saved = SaveProfile(record.id, {MINUTES: int(code)})
        return Turn(None, changes=(saved, audit), begin=(_again(record),))
    if code == "undo" and record.answers.get(WEEK_BEFORE) is not None:
        return _set(record, dict(record.answers[WEEK_BEFORE]), "undo")
    if code == "automatic":
        return _set(record, {**_kept(record), "days": {}}, "automatic")
    if code == "copy" and _others(record, facts):
        return _ask(state.at("copy"), record, facts)
    if code == "walks" and _may_walk(record, facts):
        return _ask(state.at("walk_minutes"), record, facts)
    if code == "days":
        return Turn(
            None, begin=(Begin("coach_correct", {"client": str(record.id), "key": "days"}),)
        )
    if code == "card":
        return Turn(None, begin=(Begin("coach_client", {"client": str(record.id)}),))
    return not_understood(state)


def _day_tapped(state: State, what: str, code: str, record: ClientRecord, facts: Facts) -> Turn:
    """A family is put in at the end of the day, or taken out; or the day is worked out again."""
    day = str(state.answers["day"])
    kept = _kept(record)
    days: dict[str, JsonValue] = {
        str(weekday): [family.value for family in families]
        for weekday, families in record.client.week.days.items()
    }
    if code == "automatic":
        days.pop(day, None)
    elif what == "family" and code in set(DOING_ORDER):
        there = _families_on(int(day), record, facts)
        family = Family(code)
        now = [one for one in there if one is not family] if family in there else [*there, family]
        days[day] = [one.value for one in now]
    else:
        return not_understood(state)
    if not days.get(day):
        days.pop(day, None)
    return _set(record, {**kept, "days": days}, f"day:{day}:{code}", day=day)


def _copied(state: State, code: str, record: ClientRecord, facts: Facts) -> Turn:
    """This client gets the days of another, the first for the first, as far as they train."""
    giver = client_for_me(code, facts)
    if giver is None or code not in {str(one.id) for one in _others(record, facts)}:
        return not_understood(state)
    given = _first_of_each_weekday(_shown(giver, facts))
    mine = sorted(record.client.training_days)
    days: dict[str, JsonValue] = {
        str(day): [family.value for family in one.families]
        for day, one in zip(mine, given, strict=False)
        if one.families
    }
    read = Audit(giver.id, "card_read", "week")
    turn = _set(record, {"start": giver.client.week.start.value, "days": days}, f"copy:{code}")
    return Turn(None, changes=(read, *turn.changes), begin=turn.begin)


def _may_walk(record: ClientRecord, facts: Facts) -> bool:
    return may_walk(record.client, facts.reference.catalogue.steering)


def _walks_tapped(state: State, code: str, record: ClientRecord, facts: Facts) -> Turn:
    """Minutes of a walk, then days a week; or walks are worked out again."""
    if code == "automatic":
        return _set_walks(record, None)
    if state.step == "walk_minutes" and code in WALK_MINUTES:
        return _ask(state.at("walk_days", walk=int(code)), record, facts)
    if state.step == "walk_days" and code in WALK_DAYS:
        return _set_walks(record, {"minutes": int(state.answers["walk"]), "days": int(code)})
    return not_understood(state)


def _set_walks(record: ClientRecord, walks: dict[str, JsonValue] | None) -> Turn:
    what = f"{walks['minutes']}x{walks['days']}" if walks else "automatic"
    audit = Audit(record.id, "limit_changed", f"walks:{what}")
    saved = SaveProfile(record.id, {WALKS_SET: walks})
    return Turn(None, changes=(saved, audit), begin=(_again(record),))


def _set(record: ClientRecord, week: dict[str, JsonValue], what: str, *, day: str = "") -> Turn:
    """The new week, the one before it kept for "undo"; opened anew, as it is written down then."""
    saved = SaveProfile(record.id, {WEEK: week, WEEK_BEFORE: _kept(record)})
    audit = Audit(record.id, "limit_changed", f"week:{what}")
    return Turn(None, changes=(saved, audit), begin=(_again(record, day),))


def _again(record: ClientRecord, day: str = "") -> Begin:
    return Begin(NAME, {"client": str(record.id), "day": day})


def _kept(record: ClientRecord) -> dict[str, JsonValue]:
    """What is set, as the profile keeps it."""
    return dict(record.answers.get(WEEK) or {})


def _shown(record: ClientRecord, facts: Facts) -> Week:
    today = record.person.local(facts.now).date()
    history = facts.history(record.id)
    return week_of(record.client, history, facts.reference.catalogue, today)


def _first_of_each_weekday(week: Week) -> list[PlannedDay]:
    """The first day to come of each weekday, Monday first."""
    found: dict[int, PlannedDay] = {}
    for day in week.days:
        found.setdefault(day.on.isoweekday(), day)
    return [found[weekday] for weekday in sorted(found)]


def _families_on(weekday: int, record: ClientRecord, facts: Facts) -> list[Family]:
    """What stands on a weekday: set by the coach, or worked out for the next one."""
    set_by_coach = record.client.week.days.get(weekday)
    if set_by_coach is not None:
        return list(set_by_coach)
    days = _first_of_each_weekday(_shown(record, facts))
    return [family for day in days if day.on.isoweekday() == weekday for family in day.families]


def _minutes(record: ClientRecord, facts: Facts) -> list[str]:
    table = facts.reference.catalogue.steering
    return [str(one) for one in choices_for(record.client, table)]


def _others(record: ClientRecord, facts: Facts) -> list[ClientRecord]:
    """Clients whose week may be taken over."""
    return [
        one
        for one in facts.clients()
        if one.id != record.id and one.joined and not one.person.left and facts.is_coach_of(one.id)
    ]


def _ask(state: State, record: ClientRecord, facts: Facts) -> Turn:
    if state.step == "weekday":
        return Turn(state, says=(_day(state, record, facts),))
    if state.step == "copy":
        return Turn(state, says=(_copy(record, facts),))
    if state.step in ("walk_minutes", "walk_days"):
        return Turn(state, says=(_walks(state, record),))
    read = Audit(record.id, "card_read", "week")
    return Turn(state, says=(_weeks(record, facts),), changes=(read,))


def _weeks(record: ClientRecord, facts: Facts) -> Say:
    client = record.client
    week = _shown(record, facts)
    days = [Button(f"day{ASKED}{day}") for day in WEEKDAYS if int(day) in client.training_days]
    starts = [Button(f"start{ASKED}{one}") for one in WeekStart if one is not client.week.start]
    minutes = [Button(f"minutes{ASKED}{one}") for one in _minutes(record, facts)]
    undo = [Button("undo")] if record.answers.get(WEEK_BEFORE) is not None else []
    automatic = [Button("automatic")] if client.week.days else []
    walks: Rows = ((Button("walks"),),) if _may_walk(record, facts) else ()
    copy = [Button("copy")] if _others(record, facts) else []
    rows = _in_rows(days, 4) + _in_rows(starts, 2) + _in_rows(minutes, 4)
    values = {
        "name": record.person.name,
        "week": week,
        "start": client.week.start.value,
        "days": [day for day in WEEKDAYS if int(day) in client.training_days],
        "lengths": _minutes(record, facts),
        "walks": walk_week_of(record, facts) if _may_walk(record, facts) else None,
        "walks_set": walks_set(record),
    }
    rows = (*rows, *_in_rows([*undo, *automatic, *copy], 2), *walks, *rows_of("days card"))
    return Say("coach/week", values, rows=rows, slot=SLOT)


def _day(state: State, record: ClientRecord, facts: Facts) -> Say:
    weekday = int(state.answers["day"])
    there = _families_on(weekday, record, facts)
    planned = _first_of_each_weekday(_shown(record, facts))
    ruled_out = [one for day in planned if day.on.isoweekday() == weekday for one in day.ruled_out]
    buttons = [Button(f"family{ASKED}{one.value}") for one in DOING_ORDER]
    values = {
        "name": record.person.name,
        "weekday": weekday,
        "by_coach": weekday in record.client.week.days,
        "there": [one.value for one in there],
        "ruled_out": [one.value for one in ruled_out],
        "codes": [one.value for one in DOING_ORDER],
    }
    rows = (*_in_rows(buttons, 2), *rows_of("automatic back"))
    return Say("coach/week_day", values, rows=rows, slot=SLOT)


def _walks(state: State, record: ClientRecord) -> Say:
    amounts = WALK_MINUTES if state.step == "walk_minutes" else WALK_DAYS
    buttons = [Button(f"n{ASKED}{amount}", label=amount) for amount in amounts]
    automatic = [Button("automatic")] if walks_set(record) is not None else []
    rows = (*_in_rows(buttons, 4), *_in_rows(automatic, 1), *rows_of("back"))
    values = {"name": record.person.name, "what": state.step}
    return Say("coach/week_walks", values, rows=rows, slot=SLOT)


def _copy(record: ClientRecord, facts: Facts) -> Say:
    rows = tuple(
        (Button(f"from{ASKED}{one.id}", label=one.person.name),) for one in _others(record, facts)
    )
    return Say(
        "coach/week_copy", {"name": record.person.name}, rows=(*rows, *rows_of("back")), slot=SLOT
    )


def _in_rows(buttons: Sequence[Button], many: int) -> Rows:
    return tuple(tuple(buttons[at : at + many]) for at in range(0, len(buttons), many))
