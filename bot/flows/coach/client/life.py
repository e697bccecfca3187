"""A client's life with the coach: a holiday, another coach, coming back; opened with ``client``.

A client goes to another coach only with their own yes.
"""

from dataclasses import replace
from datetime import date, timedelta

from bot.flows.changes import Audit, BringBack, SetAway
from bot.flows.coach.rights import client_of_turn, not_yours
from bot.flows.coach.to_client import keeps_back, not_told, tells
from bot.flows.coach.typed_days import as_typed, asked_which, day_ahead, said_back
from bot.flows.facts import ClientRecord, Facts, Person
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
from bot.flows.parsing import Reask
from bot.messages import Kind

NAME = "coach_life"
AWAY_DAYS = {"week": 7, "fortnight": 14, "month": 30}
LONGEST_AWAY = timedelta(days=180)
LATEST_START = timedelta(days=180)


def step(state: State, event: Event, facts: Facts) -> Turn:
    """Opened with ``what``: "holiday", "hand_over" or "bring_back"; ends back on the card."""
    opening = event.kind is EventKind.BEGIN
    record = client_of_turn(state, event, facts)
    if record is None:
        return not_yours()
    if opening:
        what = str(event.args.get("what", ""))
        known = what if what in ("hand_over", "bring_back") else "holiday"
        return _ask(State(NAME, known, {"client": str(record.id)}), record, facts)
    if event.kind is EventKind.TAP and event.value == "cancel":
        return Turn(None, begin=(_card(record),))
    if event.kind in (EventKind.RESUME, EventKind.DUE):
        return _ask(state, record, facts)
    event = as_typed(event) if state.step.startswith("holiday") else event
    answered = {
        "holiday": _holiday,
        "holiday_from": _holiday_from,
        "holiday_to": _holiday,
        "hand_over": _hand_over,
        "bring_back": _bring_back,
    }
    return answered[state.step](state, event, record, facts)


def _holiday(state: State, event: Event, record: ClientRecord, facts: Facts) -> Turn:
    """How long, from today or from the first day that was told; or that it is over."""
    today = record.person.local(facts.now).date()
    begins = _begins(state)
    first = begins or today
    if event.kind is EventKind.TAP and state.step == "holiday" and event.value == "home":
        return _away(record, None, facts)
    if event.kind is EventKind.TAP and state.step == "holiday" and event.value == "later":
        return _ask(state.at("holiday_from"), record, facts)
    if event.kind is EventKind.TAP and event.value in AWAY_DAYS:
        # Of a time to come the first day is one of its days.
        days = AWAY_DAYS[event.value] - (begins is not None)
        return _away(record, first + timedelta(days=days), facts, begins)
    if event.kind is not EventKind.TEXT:
        return not_understood(state)
    told = day_ahead(event.value, first, first + LONGEST_AWAY, facts)
    if isinstance(told, Reask):
        return asked_which(state, told)
    turn = _away(record, told, facts, begins)
    return replace(turn, says=(*said_back(event, told), *turn.says))


def _begins(state: State) -> date | None:
    """The first day of a time away that does not begin today."""
    return date.fromisoformat(state.answers["begins"]) if state.step == "holiday_to" else None


def _holiday_from(state: State, event: Event, record: ClientRecord, facts: Facts) -> Turn:
    """The first day away; how long is asked next."""
    today = record.person.local(facts.now).date()
    if event.kind is not EventKind.TEXT:
        return not_understood(state)
    told = day_ahead(event.value, today, today + LATEST_START, facts)
    if isinstance(told, Reask):
        return asked_which(state, told)
    turn = _ask(state.at("holiday_to", begins=told.isoformat()), record, facts)
    return replace(turn, says=(*said_back(event, told), *turn.says))


def _away(
    record: ClientRecord, until: date | None, facts: Facts, begins: date | None = None
) -> Turn:
    told = Say(
        "settings/away_by_coach",
        {"coach_name": facts.me.name, "until": until, "begins": begins},
        to=record.id,
        kind=Kind.PROMPT,
    )
    what = "/".join(day.isoformat() for day in (begins, until) if day)
    audit = Audit(record.id, "away_set", what)
    changes = (SetAway(record.id, until, begins), audit)
    says = tells(told, record, facts, of_training=True)
    return Turn(None, says=says, changes=changes, begin=(_card(record),))


def _hand_over(state: State, event: Event, record: ClientRecord, facts: Facts) -> Turn:
    """The client is asked; nothing changes before they have said yes."""
    _, _, code = event.value.rpartition(ASKED)
    to = next((one for one in takers(record, facts) if str(one.id) == code), None)
    if event.kind is not EventKind.TAP or to is None:
        return not_understood(state)
    if keeps_back(record, facts, of_training=False):
        says = (not_told(record, asks=True),)
        return Turn(None, says=says, begin=(_card(record),))
    values = {"coach_name": facts.me.name, "new_name": to.name, "name": record.person.name}
    ref = ASKED.join((str(to.id), str(facts.me.id), f"{facts.now:%Y%m%d}"))
    asked = Say(
        "join/hand_over",
        values,
        rows=(
            (
                Button("yes", handler="hand_over", ref=ref),
                Button("no", handler="hand_over", ref=ref),
            ),
        ),
        to=record.id,
        kind=Kind.PROMPT,
    )
    waits = Say("coach/hand_over_asked", values)
    audit = Audit(record.id, "hand_over_asked", str(to.id))
    return Turn(None, says=(asked, waits), changes=(audit,), begin=(_card(record),))


def takers(record: ClientRecord, facts: Facts) -> list[Person]:
    """The coaches who could take this client, with a chat."""
    return [one for one in facts.coaches() if one.id != record.coach_id and facts.reaches(one.id)]


def _bring_back(state: State, event: Event, record: ClientRecord, facts: Facts) -> Turn:
    if event.kind is not EventKind.TAP or event.value != "sure" or not record.person.left:
        return not_understood(state)
    if record.erasing:
        return _ask(state, record, facts)
    values = {"coach_name": facts.me.name, "name": record.person.name}
    told = Say("join/brought_back", values, to=record.id, kind=Kind.PROMPT)
    reached = facts.reaches(record.id)
    waits = reached and keeps_back(record, facts, of_training=False)
    done = Say("coach/brought_back", {**values, "reached": reached, "waits": waits})
    says = (told, done) if reached and not waits else (done,)
    return Turn(None, says=says, changes=(BringBack(record.id),), begin=(_card(record),))


def _ask(state: State, record: ClientRecord, facts: Facts) -> Turn:
    values: dict[str, object] = {
        "name": record.person.name,
        "begins": record.away_from,
        "until": record.away_until,
        "coaches": [],
    }
    if state.step == "bring_back" and record.erasing:
        # Nothing is kept of what a plan must heed.
        return Turn(None, says=(Say("coach/nothing_kept", values),), begin=(Begin("coach_invite"),))
    if state.step == "bring_back":
        say = Say("coach/bring_back", values, rows=rows_of("sure", "cancel"))
    elif state.step == "hand_over":
        found = takers(record, facts)
        rows: Rows = tuple((Button(f"to{ASKED}{one.id}", label=one.name),) for one in found)
        shown = {**values, "coaches": [one.name for one in found]}
        say = Say("coach/hand_over", shown, rows=(*rows, *rows_of("cancel")))
    elif state.step == "holiday_from":
        say = Say("coach/holiday_from", values, rows=rows_of("cancel"))
    else:
        later = _begins(state)
        others = [] if later else ["later", "home"]
        shown = {**values, "first": later}
        say = Say("coach/holiday", shown, rows=rows_of("week fortnight month", *others, "cancel"))
    return Turn(state, says=(say,))


def _card(record: ClientRecord) -> Begin:
    return Begin("coach_client", {"client": str(record.id)})
