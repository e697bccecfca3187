"""A client's weeks with the coach's eyes: which families on which day; changed and copied by tap.

Opened with ``client``. What she sets passes all rules of the client who gets it, on the day itself;
what they leave out is named here at once. The client is told of it, once a day.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace

from bot.flows.changes import Audit, SaveProfile
from bot.flows.coach.rights import client_for_me, client_of_turn, not_yours
from bot.flows.coach.to_client import keeps_back
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
from bot.flows.record.planning import Gate, training_status_of
from bot.flows.record.profile import MINUTES, WEEK, WEEK_BEFORE, WEEK_TOLD
from bot.flows.record.walks import WALKS_SET, walk_week_of, walks_set
from bot.json_values import JsonValue
from bot.messages import Kind
from core.client.set_week import MOST_SETS, WeekStart
from core.programme.balance_week import BalanceWeek, balance_week
from core.programme.groups import DOING_ORDER
from core.programme.session_time import choices_for
from core.programme.walking import may_walk
from core.programme.week import PlannedDay, Week, week_of
from core.vocabulary import Family

NAME = "coach_week"
SLOT = "week"
WEEKDAYS = tuple(str(day) for day in range(1, 8))
BACK_TO = {"arrange": "weekday", "movement": "arrange"}
MOVES = {"earlier": -1, "later": 1}
SETS = tuple(str(number) for number in range(MOST_SETS + 1))
"""Sets to choose from; "0" leaves them to be worked out."""
TOLD_AT = frozenset({Gate.OPEN, Gate.NO_CHECKIN, Gate.REST_DAY, Gate.OVER_TODAY})
WALK_MINUTES = ("5", "10", "15", "20", "30", "45")
WALK_DAYS = ("2", "3", "4", "5", "7")


def step(state: State, event: Event, facts: Facts) -> Turn:
    """The two weeks, one day of them, or the client whose week is taken over."""
    opening = event.kind is EventKind.BEGIN
    record = client_of_turn(state, event, facts)
    if record is None:
        return not_yours()
    if opening:
        return _ask(_opened(record, event), record, facts)
    if event.kind in (EventKind.RESUME, EventKind.DUE):
        return _ask(state, record, facts)
    if event.kind is not EventKind.TAP:
        return not_understood(state)
    what, _, code = event.value.rpartition(ASKED)
    if code == "back":
        return _ask(state.at(BACK_TO.get(state.step, "weeks"), family=""), record, facts)
    if state.step == "weekday":
        return _day_tapped(state, what, code, record, facts)
    if state.step in ("arrange", "movement"):
        return _arranged(state, what, code, record, facts)
    if state.step == "copy":
        return _copied(state, code, record, facts)
    if state.step in ("walk_minutes", "walk_days"):
        return _walks_tapped(state, code, record, facts)
    return _weeks_tapped(state, what, code, record, facts)


def _opened(record: ClientRecord, event: Event) -> State:
    """The screen that is opened: of a movement of a day, of the day, or of the weeks."""
    day, family = (str(event.args.get(key, "")) for key in ("day", "family"))
    answers = {"client": str(record.id), "day": day, "family": family}
    if day not in WEEKDAYS:
        return State(NAME, "weeks", {**answers, "day": ""})
    return State(NAME, "movement" if family in set(DOING_ORDER) else "weekday", answers)


def _weeks_tapped(state: State, what: str, code: str, record: ClientRecord, facts: Facts) -> Turn:
    if what == "day" and code in WEEKDAYS:
        return _ask(state.at("weekday", day=code), record, facts)
    if what == "start" and code in set(WeekStart):
        return _set(record, {**_kept(record), "start": code}, f"start:{code}", facts)
    if what == "minutes" and code in _minutes(record, facts):
        audit = Audit(record.id, "limit_changed", f"session_minutes:{code}")
        saved = SaveProfile(record.id, {MINUTES: int(code)})
        told = _told(record, facts, what="minutes", minutes=int(code))
        return Turn(None, says=told, changes=(saved, audit), begin=(_again(record),))
    if code == "undo" and record.answers.get(WEEK_BEFORE) is not None:
        return _set(record, dict(record.answers[WEEK_BEFORE]), "undo", facts)
    if code == "automatic":
        return _set(record, {**_kept(record), "days": {}, "sets": {}}, "automatic", facts)
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
    there = _families_on(int(day), record, facts)
    if code == "arrange" and there:
        return _ask(state.at("arrange"), record, facts)
    if code == "automatic":
        return _set_day(state, [], f"{code}", record, facts)
    if what != "family" or code not in set(DOING_ORDER):
        return not_understood(state)
    family = Family(code)
    now = [one for one in there if one is not family] if family in there else [*there, family]
    return _set_day(state, now, code, record, facts)


def _arranged(state: State, what: str, code: str, record: ClientRecord, facts: Facts) -> Turn:
    """A movement of the day is picked; it comes earlier or later, or gets a number of sets."""
    there = _families_on(int(state.answers["day"]), record, facts)
    if state.step == "arrange":
        if what != "pick" or code not in {one.value for one in there}:
            return not_understood(state)
        return _ask(state.at("movement", family=code), record, facts)
    family = Family(state.answers["family"])
    if family not in there:
        # Taken out on another screen meanwhile.
        return _ask(state.at("weekday", family=""), record, facts)
    at = there.index(family)
    if code in MOVES and 0 <= at + MOVES[code] < len(there):
        there.insert(at + MOVES[code], there.pop(at))
        return _set_day(state, there, f"{family}:{code}", record, facts)
    if what == "sets" and code in SETS and family is not Family.BALANCE:
        sets = {**_sets_of(record, state), family.value: int(code)}
        if not int(code):
            del sets[family.value]
        return _set_day(state, there, f"{family}:sets:{code}", record, facts, sets)
    return not_understood(state)


def _set_day(
    state: State,
    families: Sequence[Family],
    what: str,
    record: ClientRecord,
    facts: Facts,
    sets: Mapping[str, JsonValue] | None = None,
) -> Turn:
    """A day with these families, and its sets; without any it is worked out again."""
    day, of_all = str(state.answers["day"]), record.client.week
    days: dict[str, JsonValue] = {
        str(weekday): [one.value for one in there] for weekday, there in of_all.days.items()
    }
    all_sets: dict[str, JsonValue] = {
        str(weekday): _sets_on(record, weekday) for weekday in of_all.sets
    }
    days.pop(day, None)
    all_sets.pop(day, None)
    if families:
        days[day] = [one.value for one in families]
        of_day = _sets_of(record, state) if sets is None else sets
        all_sets[day] = {one.value: of_day[one.value] for one in families if one.value in of_day}
    family = str(state.answers.get("family", ""))
    week: dict[str, JsonValue] = {**_kept(record), "days": days, "sets": all_sets}
    return _set(record, week, f"day:{day}:{what}", facts, day=day, family=family)


def _sets_of(record: ClientRecord, state: State) -> dict[str, JsonValue]:
    """Sets that are set of the day, by family."""
    return _sets_on(record, int(state.answers["day"]))


def _sets_on(record: ClientRecord, weekday: int) -> dict[str, JsonValue]:
    return {family.value: n for family, n in record.client.week.sets.get(weekday, {}).items()}


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
    sets: dict[str, JsonValue] = {
        str(day): _sets_on(giver, one.on.isoweekday())
        for day, one in zip(mine, given, strict=False)
        if one.families
    }
    read = Audit(giver.id, "card_read", "week")
    week: dict[str, JsonValue] = {"start": giver.client.week.start.value, "days": days}
    turn = _set(record, {**week, "sets": sets}, f"copy:{code}", facts)
    return replace(turn, changes=(read, *turn.changes))


def _may_walk(record: ClientRecord, facts: Facts) -> bool:
    return may_walk(record.client, facts.reference.catalogue.steering)


def _walks_tapped(state: State, code: str, record: ClientRecord, facts: Facts) -> Turn:
    """Minutes of a walk, then days a week; or walks are worked out again."""
    if code == "automatic":
        return _set_walks(record, None, facts)
    if state.step == "walk_minutes" and code in WALK_MINUTES:
        return _ask(state.at("walk_days", walk=int(code)), record, facts)
    if state.step == "walk_days" and code in WALK_DAYS:
        walks: dict[str, JsonValue] = {"minutes": int(state.answers["walk"]), "days": int(code)}
        return _set_walks(record, walks, facts)
    return not_understood(state)


def _set_walks(record: ClientRecord, walks: dict[str, JsonValue] | None, facts: Facts) -> Turn:
    what = f"{walks['minutes']}x{walks['days']}" if walks else "automatic"
    audit = Audit(record.id, "limit_changed", f"walks:{what}")
    saved = SaveProfile(record.id, {WALKS_SET: walks})
    told = _told(record, facts, what="walks" if walks else "walks_automatic")
    return Turn(None, says=told, changes=(saved, audit), begin=(_again(record),))


def _set(
    record: ClientRecord,
    week: dict[str, JsonValue],
    what: str,
    facts: Facts,
    *,
    day: str = "",
    family: str = "",
) -> Turn:
    """The new week, the one before it kept for "undo"; opened anew, as it is written down then."""
    today = record.person.local(facts.now).date().isoformat()
    told = () if record.answers.get(WEEK_TOLD) == today else _told(record, facts, what="week")
    saved: dict[str, JsonValue] = {WEEK: week, WEEK_BEFORE: _kept(record)}
    if told:
        saved[WEEK_TOLD] = today
    audit = Audit(record.id, "limit_changed", f"week:{what}")
    changes = (SaveProfile(record.id, saved), audit)
    return Turn(None, says=told, changes=changes, begin=(_again(record, day, family),))


def _told(
    record: ClientRecord, facts: Facts, *, what: str, minutes: int | None = None
) -> tuple[Say, ...]:
    """What the client hears of it; the screen says where it is nothing."""
    if keeps_back(record, facts, of_training=True):
        return ()
    if training_status_of(record, facts).gate not in TOLD_AT:
        return ()
    values = {"coach_name": facts.me.name, "what": what, "minutes": minutes}
    return (Say("today/week_set", values, to=record.id, kind=Kind.PROMPT),)


def _again(record: ClientRecord, day: str = "", family: str = "") -> Begin:
    return Begin(NAME, {"client": str(record.id), "day": day, "family": family})


def _kept(record: ClientRecord) -> dict[str, JsonValue]:
    """What is set, as the profile keeps it."""
    return dict(record.answers.get(WEEK) or {})


def _shown(record: ClientRecord, facts: Facts) -> Week:
    today = record.person.local(facts.now).date()
    history = facts.history(record.id)
    return week_of(record.client, history, facts.reference.catalogue, today)


def _balance(record: ClientRecord, facts: Facts) -> BalanceWeek:
    today = record.person.local(facts.now).date()
    history = facts.history(record.id)
    return balance_week(record.client, history, facts.reference.catalogue, today)


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
    if state.step in ("arrange", "movement"):
        return Turn(state, says=(_arrange(state, record, facts),))
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
        "sets": {day: _sets_on(record, day) for day in client.week.sets},
        "lengths": _minutes(record, facts),
        "walks": walk_week_of(record, facts) if _may_walk(record, facts) else None,
        "walks_set": walks_set(record),
        "balance": _balance(record, facts),
        "untold": keeps_back(record, facts, of_training=True),
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
        "sets": _sets_on(record, weekday),
        "untold": keeps_back(record, facts, of_training=True),
    }
    arrange = rows_of("arrange") if there else ()
    rows = (*_in_rows(buttons, 2), *arrange, *rows_of("automatic back"))
    return Say("coach/week_day", values, rows=rows, slot=SLOT)


def _arrange(state: State, record: ClientRecord, facts: Facts) -> Say:
    """The movements of a day in their order, or one of them with what may be set of it."""
    weekday, family = int(state.answers["day"]), str(state.answers.get("family", ""))
    there = [one.value for one in _families_on(weekday, record, facts)]
    sets = _sets_on(record, weekday)
    if state.step == "arrange":
        rows = _in_rows([Button(f"pick{ASKED}{one}") for one in there], 2)
    else:
        at = there.index(family) if family in there else 0
        moves = [Button(code) for code, by in MOVES.items() if 0 <= at + by < len(there)]
        numbers = [Button(f"sets{ASKED}{one}") for one in SETS if one != str(sets.get(family, 0))]
        rows = (*_in_rows(moves, 2), *(() if family == Family.BALANCE else _in_rows(numbers, 4)))
    values = {
        "name": record.person.name,
        "weekday": weekday,
        "family": family if state.step == "movement" else "",
        "there": there,
        "sets": sets,
        "codes": [one.value for one in DOING_ORDER],
        "untold": keeps_back(record, facts, of_training=True),
    }
    return Say("coach/week_order", values, rows=(*rows, *rows_of("back")), slot=SLOT)


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
