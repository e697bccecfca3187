"""Cleared to start: name and emergency number checked, whose word, how strong, until when."""

from datetime import timedelta

from bot.flows.changes import Audit, ClearToStart, SaveProfile
from bot.flows.coach.rights import client_of_turn, not_yours
from bot.flows.facts import ClientRecord, Country, Facts
from bot.flows.forms import ASKED
from bot.flows.joining.answers import given_of, proposal_of, proposal_values
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
from bot.flows.parsing import Reask, Why, read_choice, read_day, read_words
from bot.messages import Kind
from core.client.screening import VALID_DAYS
from core.dose.prior import CoachWord

NAME = "coach_start"
SLOT = "start"
MONTHS = {"3": 91, "6": 182, "12": VALID_DAYS}
STEPS = ("identity", "word", "sure", "fitness", "until")


def step(state: State, event: Event, facts: Facts) -> Turn:
    """Opened with ``client``; ends back on the card."""
    opening = event.kind is EventKind.BEGIN
    record = client_of_turn(state, event, facts)
    if record is None:
        return not_yours()
    if opening:
        if not record.joined:
            return Turn(None, says=(Say("coach/start_too_soon", {"name": record.person.name}),))
        state = State(NAME, "identity", {"client": str(record.id), "word": ""})
        confirmed = record.answers.get("number_confirmed") and record.answers.get("name_confirmed")
        return _ask(state.at("word" if confirmed else "identity"), record, facts)
    if event.kind in (EventKind.RESUME, EventKind.DUE):
        return _ask(state, record, facts)
    code = _code(state, event)
    if code is None:
        return not_understood(state)
    if code == "stop":
        return _to_card(record)
    steps = {
        "identity": _identity,
        "word": _word,
        "sure": _sure,
        "fitness": _fitness,
        "until": _until,
    }
    return steps[state.step](state, code, event, record, facts)


def _code(state: State, event: Event) -> str | None:
    """The button of this step, the words typed, or ``None`` for a button of another step."""
    if event.kind is not EventKind.TAP:
        return event.value
    asked, _, code = event.value.rpartition(ASKED)
    return code if asked == state.step else None


def _ask(state: State, record: ClientRecord, facts: Facts, again: Reask | None = None) -> Turn:
    today = record.person.local(facts.now).date()
    values = {
        **proposal_values(given_of(record), today),
        "name": record.person.name,
        "place": facts.reference.countries.get(record.person.country, Country("", "")),
        "again": again.why.value if again else "",
        "again_about": again.about if again else "",
        "on_hold": facts.hold(record.id) is not None,
    }
    rows = {
        "identity": rows_of("right", "name country", "stop"),
        "word": rows_of("own", "stop"),
        "sure": rows_of("sure", "stop"),
        "fitness": rows_of(*CoachWord, "stop"),
        "until": rows_of("3 6 12", "stop"),
    }[state.step]
    named = tuple(tuple(_button(state.step, button.value) for button in row) for row in rows)
    return Turn(state, says=(Say(f"coach/start_{state.step}", values, rows=named, slot=SLOT),))


def _identity(state: State, code: str, event: Event, record: ClientRecord, facts: Facts) -> Turn:
    args = {"client": str(record.id)}
    if code in ("name", "country"):
        key = "called" if code == "name" else "country"
        return Turn(None, begin=(Begin("coach_correct", {**args, "key": key}),))
    spoken = facts.reference.spoken.get("form", {})
    if event.kind is EventKind.TEXT and read_choice(code, ("right",), spoken) != "right":
        return not_understood(state)
    confirmed = SaveProfile(record.id, {"number_confirmed": True, "name_confirmed": True})
    turn = _ask(state.at("word"), record, facts)
    return Turn(turn.state, says=turn.says, changes=(confirmed,))


def _word(state: State, code: str, event: Event, record: ClientRecord, facts: Facts) -> Turn:
    """The doctor's word as the coach heard it, or her own decision."""
    if event.kind is EventKind.TAP:
        needs = proposal_of(given_of(record), record.person.local(facts.now).date()).needs_doctor
        state = state.at("sure", word="")
        return _ask(state if needs else _decided(state, record, facts), record, facts)
    words = read_words(code, 200, 6)
    if isinstance(words, Reask):
        return _ask(state, record, facts, words)
    return _ask(_decided(state.at("word", word=words), record, facts), record, facts)


def _sure(state: State, _code: str, event: Event, record: ClientRecord, facts: Facts) -> Turn:
    """The rules ask for a doctor's word and there is none: a second tap."""
    if event.kind is not EventKind.TAP:
        return _ask(state.at("word"), record, facts)
    return _ask(_decided(state.at("sure", word=""), record, facts), record, facts)


def _decided(state: State, record: ClientRecord, facts: Facts) -> State:
    """That the client may start is decided; strength is asked once, before there are sets."""
    known = record.answers.get("fitness") or facts.history(record.id).sets
    return state.at("until" if known else "fitness")


def _fitness(state: State, code: str, event: Event, record: ClientRecord, facts: Facts) -> Turn:
    """The coach's word on strength, as a first guess for the doses."""
    spoken = facts.reference.spoken.get("fitness", {})
    if event.kind is EventKind.TEXT:
        found = read_choice(code, tuple(CoachWord), spoken)
        if isinstance(found, Reask):
            return not_understood(state)
        code = found
    return _ask(state.at("until", fitness=code), record, facts)


def _until(state: State, code: str, event: Event, record: ClientRecord, facts: Facts) -> Turn:
    today = record.person.local(facts.now).date()
    if event.kind is EventKind.TAP:
        until = today + timedelta(days=MONTHS[code])
    else:
        day = read_day(code, today, facts.reference.words, future=True)
        if isinstance(day, Reask):
            return _ask(state, record, facts, day)
        until = today.fromisoformat(day)
        if until > today + timedelta(days=VALID_DAYS):
            return _ask(state, record, facts, Reask(Why.OUT_OF_RANGE, code))
    word = str(state.answers.get("word", ""))
    told_strength = {key: state.answers[key] for key in ("fitness",) if key in state.answers}
    changes = (
        SaveProfile(record.id, {"doctor_word": word or None, **told_strength}),
        ClearToStart(record.id, until),
        Audit(record.id, "doctor_word_given" if word else "own_decision"),
    )
    told = Say(
        "join/you_may_start",
        {"coach_name": facts.me.name, "on_hold": facts.hold(record.id) is not None},
        to=record.id,
        kind=Kind.PROMPT,
    )
    values = {
        "name": record.person.name,
        "until": until,
        "reached": facts.reaches(record.id),
    }
    done = Say("coach/started", values, slot=SLOT)
    turn = _to_card(record)
    return Turn(None, says=(done, told), changes=changes, begin=turn.begin)


def _to_card(record: ClientRecord) -> Turn:
    return Turn(None, begin=(Begin("coach_client", {"client": str(record.id)}),))


def _button(asked: str, code: str) -> Button:
    return Button(f"{asked}{ASKED}{code}")
