"""The coach pauses a client's training, for a cause and until a day; opened with ``client``.

The day ends nothing by itself: from then on the client stands on her list as one who needs her.
A session, walk or test on its way ends with it: the watch goes on until the client is heard.
"""

from dataclasses import replace
from datetime import date, timedelta

from bot.flows.changes import PlaceHold, SaveProfile
from bot.flows.client.feeling import stopped_on_the_way
from bot.flows.coach.rights import client_of_turn, not_yours
from bot.flows.coach.to_client import tells
from bot.flows.coach.typed_days import as_typed, asked_which, day_ahead, said_back
from bot.flows.facts import ClientRecord, Facts
from bot.flows.forms import ASKED
from bot.flows.machine import (
    Begin,
    Button,
    Event,
    EventKind,
    Say,
    State,
    Turn,
    not_understood,
    rows_of,
)
from bot.flows.parsing import Reask, read_choice
from bot.flows.record.on_the_way import ENDED
from bot.flows.record.paused import PAUSE_UNTIL
from bot.messages import Kind

NAME = "coach_hold"
REASONS = ("coach_ill", "coach_hospital", "coach_doctor", "coach_other")
"""Codes only: they are kept in plain; words about health belong into a note."""

LASTS = {"week": 7, "fortnight": 14, "month": 28}
LONGEST = timedelta(days=365)


def step(state: State, event: Event, facts: Facts) -> Turn:
    """Ask why and until when, pause, and tell the client."""
    record = client_of_turn(state, event, facts)
    if record is None:
        return not_yours()
    if event.kind is EventKind.TAP and event.value == "cancel":
        return Turn(None, begin=(_card(record),))
    if event.kind not in (EventKind.TAP, EventKind.TEXT):
        return _ask_why(state, record) if state.step != "until" else _ask_until(state, record)
    if state.step == "until":
        return _until(state, event, record, facts)
    code = event.value
    if event.kind is EventKind.TEXT:
        read = read_choice(code, REASONS, facts.reference.spoken.get("hold_reason", {}))
        code = "" if isinstance(read, Reask) else read
    if code not in REASONS:
        return not_understood(state)
    return _ask_until(state.at("until", because=code), record)


def _until(state: State, event: Event, record: ClientRecord, facts: Facts) -> Turn:
    today = record.person.local(facts.now).date()
    event = as_typed(event)
    code = event.value.rpartition(ASKED)[2]
    if event.kind is EventKind.TAP and code == "open":
        return _paused(state, None, record, facts)
    if event.kind is EventKind.TAP and code in LASTS:
        return _paused(state, today + timedelta(days=LASTS[code]), record, facts)
    if event.kind is not EventKind.TEXT:
        return not_understood(state)
    until = day_ahead(event.value, today + timedelta(days=1), today + LONGEST, facts)
    if isinstance(until, Reask):
        return asked_which(state, until)
    turn = _paused(state, until, record, facts)
    return replace(turn, says=(*said_back(event, until), *turn.says))


def _paused(state: State, until: date | None, record: ClientRecord, facts: Facts) -> Turn:
    because = str(state.answers["because"])
    told = Say(
        "join/on_hold_now",
        {"coach_name": facts.me.name, "because": because, "until": until},
        to=record.id,
        kind=Kind.PROMPT,
    )
    kept = SaveProfile(record.id, {PAUSE_UNTIL: until.isoformat() if until else None})
    changes, back = (PlaceHold(record.id, because), kept), (_card(record),)
    doing = facts.watched(record.id)
    if doing not in ENDED:
        says = tells(told, record, facts, of_training=False)
        return Turn(None, says=says, changes=changes, begin=back)
    # Whoever lies in hospital is heard of by the coach, and not asked.
    asks = because != "coach_hospital" and facts.reaches(record.id)
    values = {
        "doing": doing,
        "asks": asks,
        "name": record.person.name,
        "stop": because != "coach_hospital",
    }
    says = (told, Say("coach/stopped_on_the_way", values))
    if not asks:
        ended = Say("feeling/watch_ends", values, to=record.id, kind=Kind.PROMPT)
        return Turn(None, says=(told, ended, says[1]), changes=changes, begin=back)
    asked = stopped_on_the_way(record.id, doing)
    return Turn(None, says=says, changes=changes, begin=(asked, *back))


def _ask_why(state: State, record: ClientRecord) -> Turn:
    rows = rows_of(*REASONS, "cancel")
    say = Say("coach/hold", {"name": record.person.name, "codes": list(REASONS)}, rows=rows)
    return Turn(state.at("why", client=str(record.id)), says=(say,))


def _ask_until(state: State, record: ClientRecord) -> Turn:
    lasts = tuple(Button(f"until{ASKED}{code}") for code in LASTS)
    rows = (lasts, (Button(f"until{ASKED}open"),), *rows_of("cancel"))
    say = Say("coach/hold_until", {"name": record.person.name}, rows=rows)
    return Turn(state, says=(say,))


def _card(record: ClientRecord) -> Begin:
    return Begin("coach_client", {"client": str(record.id)})
