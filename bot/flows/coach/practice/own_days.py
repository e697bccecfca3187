"""A coach's own days: office and quiet hours, days away, which messages come, a lost phone."""

from dataclasses import replace
from datetime import date, time, timedelta

from bot.flows.changes import Change, SetDesk, SuspendCoach
from bot.flows.coach.typed_days import as_typed, asked_which, day_ahead, said_back
from bot.flows.desk import (
    AWAY_FROM,
    AWAY_UNTIL,
    OFFICE_DAYS,
    OFFICE_FROM,
    OFFICE_UNTIL,
    QUIET_FROM,
    WAYS,
    WAYS_OF,
    Desk,
    Notice,
)
from bot.flows.facts import Facts, Person
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
from bot.flows.parsing import Reask, Why, read_clock
from bot.json_values import JsonValue
from bot.messages import Kind
from core.vocabulary import Role

NAME = "coach_days"
HOURS = ("08:00-12:00", "09:00-13:00", "09:00-17:00", "10:00-18:00")
DAYS = {
    "mon_fri": (1, 2, 3, 4, 5),
    "mon_sat": (1, 2, 3, 4, 5, 6),
    "every_day": (1, 2, 3, 4, 5, 6, 7),
}
AWAY_DAYS = {"today": 0, "week": 6, "fortnight": 13}
LONGEST_AWAY = timedelta(days=180)
QUIET = ("18:00", "19:00", "20:00", "21:00", "22:00")
QUIET_BETWEEN = ("15:00", "23:59")
WAYS_SLOT = "ways"
ASKS = ("hours", "quiet", "ways", "away", "suspend")
CHOSEN = tuple(notice for notice, ways in WAYS_OF.items() if len(ways) > 1)
"""Kinds of messages of which a coach has a choice."""


def step(state: State, event: Event, facts: Facts) -> Turn:
    """Opened with ``what``: one of ``ASKS``; ends back on the settings."""
    if facts.me.role is not Role.COACH:
        return Turn(None, understood=False)
    if event.kind is EventKind.BEGIN:
        what = str(event.args.get("what", ""))
        return _ask(State(NAME, what if what in ASKS else "hours"), facts)
    if event.kind in (EventKind.RESUME, EventKind.DUE):
        return _ask(state, facts)
    if event.kind is EventKind.TAP and event.value == "cancel":
        return Turn(None, begin=(Begin("coach_settings"),))
    event = as_typed(event) if state.step.startswith("away") else event
    answered = {
        "hours": _hours,
        "week_days": _week_days,
        "quiet": _quiet,
        "ways": _ways,
        "away": _away_from,
        "away_until": _away_until,
        "suspend": _suspend,
        "suspend_sure": _suspend_sure,
    }
    return answered[state.step](state, event, facts)


def _hours(state: State, event: Event, facts: Facts) -> Turn:
    """ "09:00-17:00" by tap, or two times typed with "to" or a dash between them."""
    said = event.value.rpartition(ASKED)[2]
    if event.kind is EventKind.TAP and said == "no_hours":
        return _saved(SetDesk(facts.me.id, {OFFICE_FROM: None, OFFICE_UNTIL: None}))
    parts = said.replace(" to ", "-").replace("\u2013", "-").split("-")
    if len(parts) != 2:
        return not_understood(state)
    words = facts.reference.words
    opens = read_clock(parts[0].strip(), "00:00", "23:59", words)
    closes = read_clock(parts[1].strip(), "00:00", "23:59", words)
    if isinstance(opens, Reask) or isinstance(closes, Reask):
        return not_understood(state)
    if closes <= opens and time.fromisoformat(closes).hour < 12:
        closes = f"{int(closes[:2]) + 12:02d}{closes[2:]}"
    if closes <= opens:
        return not_understood(state)
    return _ask(state.at("week_days", opens=opens, closes=closes), facts)


def _week_days(state: State, event: Event, facts: Facts) -> Turn:
    code = event.value.rpartition(ASKED)[2]
    if code not in DAYS:
        return not_understood(state)
    kept = {
        OFFICE_FROM: state.answers["opens"],
        OFFICE_UNTIL: state.answers["closes"],
        OFFICE_DAYS: list(DAYS[code]),
    }
    return _saved(SetDesk(facts.me.id, kept))


def _quiet(state: State, event: Event, facts: Facts) -> Turn:
    """From when in the evening; quiet hours always end with the list of the morning."""
    said = event.value.rpartition(ASKED)[2]
    if event.kind is EventKind.TAP and said == "no_quiet":
        return _saved(SetDesk(facts.me.id, {QUIET_FROM: None}))
    begins = read_clock(said, *QUIET_BETWEEN, facts.reference.words)
    if isinstance(begins, Reask):
        return not_understood(state)
    return _saved(SetDesk(facts.me.id, {QUIET_FROM: begins}))


def _ways(state: State, event: Event, facts: Facts) -> Turn:
    """Each tap sets one kind of message to the next way it may come."""
    code = event.value.rpartition(ASKED)[2]
    if event.kind is not EventKind.TAP or code not in CHOSEN:
        return not_understood(state)
    desk, notice = facts.desk(facts.me.id), Notice(code)
    ways = WAYS_OF[notice]
    following = ways[(ways.index(desk.chosen(notice)) + 1) % len(ways)]
    kept: dict[str, JsonValue] = {one.value: way.value for one, way in desk.ways.items()}
    kept[code] = following.value
    change = SetDesk(facts.me.id, {WAYS: kept})
    return Turn(None, changes=(change,), begin=(Begin(NAME, {"what": "ways"}),))


def _away_from(state: State, event: Event, facts: Facts) -> Turn:
    today = facts.me.local(facts.now).date()
    code = event.value.rpartition(ASKED)[2]
    if event.kind is EventKind.TAP and code == "home":
        return _saved(SetDesk(facts.me.id, {AWAY_FROM: None, AWAY_UNTIL: None}))
    taps = {"from_today": today, "from_tomorrow": today + timedelta(days=1)}
    begins = taps.get(code) or _day_of(event, today, today + LONGEST_AWAY, facts)
    if isinstance(begins, Reask):
        return asked_which(state, begins)
    turn = _ask(state.at("away_until", begins=begins.isoformat()), facts)
    return replace(turn, says=(*said_back(event, begins), *turn.says))


def _away_until(state: State, event: Event, facts: Facts) -> Turn:
    begins = date.fromisoformat(state.answers["begins"])
    code = event.value.rpartition(ASKED)[2]
    days = AWAY_DAYS.get(code)
    last = begins + LONGEST_AWAY
    until = (
        begins + timedelta(days=days) if days is not None else _day_of(event, begins, last, facts)
    )
    if isinstance(until, Reask):
        return asked_which(state, until)
    kept = {AWAY_FROM: begins.isoformat(), AWAY_UNTIL: until.isoformat()}
    backup = facts.backup_of(facts.me.id)
    both = backup is not None and _overlaps(facts.desk(backup.id), begins, until)
    values = {
        "coach_name": facts.me.name,
        "backup_name": backup.name if backup is not None else "",
        "begins": begins,
        "until": until,
        "both": both,
    }
    says = [*said_back(event, until), Say("coach/away_set", values)]
    if backup is not None:
        says.append(Say("coach/away_told", values, to=backup.id, kind=Kind.PROMPT))
    turn = _saved(SetDesk(facts.me.id, kept))
    return Turn(None, says=tuple(says), changes=turn.changes, begin=turn.begin)


def _overlaps(desk: Desk, begins: date, until: date) -> bool:
    if desk.away_from is None or desk.away_until is None:
        return False
    return desk.away_from <= until and begins <= desk.away_until


def _suspend(state: State, event: Event, facts: Facts) -> Turn:
    colleague = _colleague(event.value.rpartition(ASKED)[2], facts)
    if event.kind is not EventKind.TAP or colleague is None:
        return not_understood(state)
    return _ask(state.at("suspend_sure", coach=str(colleague.id)), facts)


def _suspend_sure(state: State, event: Event, facts: Facts) -> Turn:
    colleague = _colleague(str(state.answers["coach"]), facts)
    if event.kind is not EventKind.TAP or event.value != "sure" or colleague is None:
        return not_understood(state)
    stands_in = facts.backup_of(colleague.id)
    values = {"name": colleague.name, "backup": stands_in.name if stands_in is not None else ""}
    says = [Say("coach/suspended", values)]
    if stands_in is not None and stands_in.id != facts.me.id:
        told = {**values, "by": facts.me.name}
        says.append(Say("coach/suspended_told", told, to=stands_in.id, kind=Kind.PROMPT))
    return Turn(None, says=tuple(says), changes=(SuspendCoach(colleague.id),))


def _colleague(code: str, facts: Facts) -> Person | None:
    return next((one for one in _colleagues(facts) if str(one.id) == code), None)


def _colleagues(facts: Facts) -> list[Person]:
    """Other coaches with a chat that could be lost."""
    return [one for one in facts.coaches() if one.id != facts.me.id and facts.reaches(one.id)]


def _day_of(event: Event, first: date, last: date, facts: Facts) -> date | Reask:
    """A typed day from ``first``, which is never past, to ``last``."""
    if event.kind is not EventKind.TEXT:
        return Reask(Why.NOT_A_DATE, event.value)
    today = facts.me.local(facts.now).date()
    return day_ahead(event.value, max(first, today), last, facts)


def _saved(*changes: Change) -> Turn:
    return Turn(None, changes=changes, begin=(Begin("coach_settings"),))


def _ask(state: State, facts: Facts) -> Turn:
    values: dict[str, object] = {"name": ""}
    rows: Rows
    slot = ""
    if state.step == "hours":
        buttons = [Button(f"hours{ASKED}{one}", label=one) for one in HOURS]
        rows = (tuple(buttons[:2]), tuple(buttons[2:]), (Button(f"hours{ASKED}no_hours"),))
    elif state.step == "quiet":
        values = {"list_at": facts.desk(facts.me.id).list_at}
        buttons = [Button(f"quiet{ASKED}{one}", label=one) for one in QUIET]
        rows = (tuple(buttons[:3]), tuple(buttons[3:]), (Button(f"quiet{ASKED}no_quiet"),))
    elif state.step == "ways":
        desk, slot = facts.desk(facts.me.id), WAYS_SLOT
        values = {"chosen": {one.value: desk.chosen(one).value for one in CHOSEN}}
        rows = tuple((Button(f"ways{ASKED}{one.value}"),) for one in CHOSEN)
    elif state.step == "week_days":
        rows = tuple((Button(f"week_days{ASKED}{code}"),) for code in DAYS)
    elif state.step == "away":
        rows = (
            tuple(Button(f"away{ASKED}{code}") for code in ("from_today", "from_tomorrow")),
            (Button(f"away{ASKED}home"),),
        )
    elif state.step == "away_until":
        rows = (tuple(Button(f"away_until{ASKED}{code}") for code in AWAY_DAYS),)
    elif state.step == "suspend":
        rows = tuple(
            (Button(f"suspend{ASKED}{one.id}", label=one.name),) for one in _colleagues(facts)
        )
    else:
        colleague = _colleague(str(state.answers["coach"]), facts)
        values = {"name": colleague.name if colleague is not None else ""}
        rows = rows_of("sure")
    end = rows_of("cancel")
    say = Say(f"coach/days_{state.step}", values, rows=(*rows, *end), slot=slot)
    return Turn(state, says=(say,))
