"""Cleared to start: who it is, what the answers lack, whose word of when, until when, how strong.

What is missing is asked in the client's own questions: when an operation was, from where a hip was
opened, what the surgeon said. It is kept as values, and asked anew the next time while not known.
"""

from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta

from bot.flows.changes import Audit, Change, ClearToStart, SaveProfile
from bot.flows.coach.client.card import shown_identity
from bot.flows.coach.client.limit_questions import UNITS, merged_limits
from bot.flows.coach.rights import client_of_turn, not_yours
from bot.flows.coach.to_client import keeps_back
from bot.flows.coach.typed_days import (
    day_ahead,
    day_buttons,
    day_past,
    said_back,
    with_a_day,
)
from bot.flows.facts import Answers, ClientRecord, Country, Facts
from bot.flows.form_question import Setting
from bot.flows.form_turns import turn_of
from bot.flows.forms import ASKED, Taken
from bot.flows.joining.answers import (
    given_of,
    proposal_of,
    proposal_values,
    shown_answers,
    taken_in,
)
from bot.flows.joining.operation_answers import (
    ASKED_ABOUT,
    NOTHING_FORBIDDEN,
    key_of,
    operations_given,
)
from bot.flows.joining.questions import JOIN_FORM
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
from bot.flows.parsing import Reask, Why, read_choice, read_words
from bot.flows.record.planning import restart_begins
from bot.flows.record.profile import RESTART_DUE, TOLD
from bot.flows.record.steered import asks_of_coach, asks_with_choices
from bot.json_values import JsonValue
from bot.messages import Kind
from core.client.medicines import lows_possible
from core.client.operations import NO_LIMITS, Joint
from core.client.screening import VALID_DAYS, HealthChange
from core.client.told import CHOICES
from core.dose.prior import CoachWord
from core.vocabulary import Condition

NAME = "coach_start"
SLOT = "start"
MONTHS = {"3": 91, "6": 182, "12": VALID_DAYS}
STEPS = ("identity", "word", "word_on", "sure", "sugar", "until")
"""Besides these, each question of joining that is open for this client."""

ONCE_A_STEP = "fitness"
"""Strength had a step of its own; a conversation kept from then goes on with the next."""

TOLD_OF = "told_"
"""Begins the steps that ask of a condition (:mod:`core.client.told`)."""
NOT_KNOWN = "none"

DEVICES = frozenset({Condition.PACEMAKER, Condition.DEFIBRILLATOR})


def step(state: State, event: Event, facts: Facts) -> Turn:
    """Opened with ``client``, and ``right``: what the card showed as name and number, and is right.

    Ends back on the card.
    """
    opening = event.kind is EventKind.BEGIN
    record = client_of_turn(state, event, facts)
    if record is None:
        return not_yours()
    if opening:
        if not record.joined:
            return Turn(None, says=(Say("coach/start_too_soon", {"name": record.person.name}),))
        state = State(NAME, "identity", {"client": str(record.id), "word": "", "asked": []})
        if record.answers.get("number_confirmed") and record.answers.get("name_confirmed"):
            return _ask_missing(state, record, facts)
        if event.args.get("right") == shown_identity(record):
            return _identity_is_right(state, record, facts)
        return _ask(state, record, facts)
    if state.step == ONCE_A_STEP:
        state = state.at("until")
    if event.kind in (EventKind.RESUME, EventKind.DUE):
        return _ask(state, record, facts)
    code = _code(state, event)
    if code is None:
        return not_understood(state)
    if code == "stop":
        return _to_card(record)
    if state.step in JOIN_FORM.by_key:
        return _missing(state, event, record, facts)
    if state.step.startswith(TOLD_OF):
        return _told(state, code, event, record, facts)
    steps = {
        "identity": _identity,
        "word": _word,
        "word_on": _word_on,
        "sure": _sure,
        "sugar": _sugar,
        "until": _until,
    }
    return steps[state.step](state, code, event, record, facts)


def missing(given: Answers, on: date, *, operated: bool = False) -> Iterator[str]:
    """Keys of the questions of joining that steer the plan and that nobody has answered yet.

    Args:
        given: the answers under the form's keys.
        operated: an operation was told since, and not which.
    """
    if operated:
        yield "operations"
    told = {Condition(item) for item in given.get("conditions_heart") or ()}
    if told & DEVICES and not given.get("pacemaker_on"):
        yield "pacemaker_on"
    for number, one in enumerate(operations_given(given)[:ASKED_ABOUT], 1):
        if one.on is None:
            yield key_of(number, "on")
        if not one.is_recent(on):
            continue
        if one.joint is Joint.HIP and one.approach is None:
            yield key_of(number, "approach")
        if one.limits == NO_LIMITS:
            yield key_of(number, "limits")
        said = given.get(key_of(number, "limits")) or ()
        for part in ("bend", "weight"):
            if part in said and given.get(key_of(number, part)) is None:
                yield key_of(number, part)
        if set(said) - {NOTHING_FORBIDDEN} and given.get(key_of(number, "until")) is None:
            yield key_of(number, "until")


def _ask_missing(
    state: State, record: ClientRecord, facts: Facts, given: Answers | None = None
) -> Turn:
    """The next thing that is missing, or whose word there is.

    Args:
        given: the answers as they will be after this turn; those of the record when left out.
    """
    given = given_of(record) if given is None else given
    wanted = {question.key for question in JOIN_FORM.wanted(Setting(given, facts))}
    asked = list(state.answers.get("asked", ()))
    today = record.person.local(facts.now).date()
    operated = record.answers.get(RESTART_DUE) == HealthChange.OPERATION.value
    lacks = missing(given, today, operated=operated)
    open_ = (key for key in lacks if key in wanted and key not in asked)
    key = next(open_, None)
    if key is None:
        return _ask(_next_told(state.at("word", given=None), record, facts), record, facts)
    state = JOIN_FORM.open(state.at(key, given=dict(given), asked=[*asked, key]), key)
    return _ask_of_joining(state, record, facts)


def _next_told(state: State, record: ClientRecord, facts: Facts) -> State:
    """At what is asked of a condition next; at the doctor's word when all was asked."""
    asked = list(state.answers.get("asked", ()))
    today = record.person.local(facts.now).date()
    asks = asks_with_choices(record.client, facts, today)
    ask = next((ask for ask in asks if f"{TOLD_OF}{ask}" not in asked), None)
    if ask is None:
        return state.at("word")
    return state.at(f"{TOLD_OF}{ask}", asked=[*asked, f"{TOLD_OF}{ask}"])


def _told(state: State, code: str, event: Event, record: ClientRecord, facts: Facts) -> Turn:
    """An answer about a condition is kept as a value; "not known" takes back what was told."""
    ask = state.step.removeprefix(TOLD_OF)
    if event.kind is EventKind.TEXT:
        spoken = facts.reference.spoken.get(state.step, {})
        found = read_choice(code, (*CHOICES[ask], NOT_KNOWN), spoken)
        if isinstance(found, Reask):
            return not_understood(state)
        code = found
    before = state.answers.get("told", record.answers.get(TOLD) or {})
    told = {one: said for one, said in before.items() if one != ask}
    if code != NOT_KNOWN:
        told[ask] = code
    turn = _ask(_next_told(state.at(state.step, told=told), record, facts), record, facts)
    changes = (
        SaveProfile(record.id, {TOLD: told}),
        Audit(record.id, "answer_corrected", state.step),
    )
    return Turn(turn.state, says=turn.says, changes=changes)


def _ask_of_joining(
    state: State, record: ClientRecord, facts: Facts, again: Reask | None = None
) -> Turn:
    about = {
        "name": record.person.name,
        "shown": shown_answers(state.answers["given"], facts, facts.me),
        "theirs": True,
    }
    return Turn(state, says=(JOIN_FORM.ask(state, facts, again, about),))


def _missing(state: State, event: Event, record: ClientRecord, facts: Facts) -> Turn:
    """An answer to a question of joining, given by the coach."""
    taken = JOIN_FORM.take(state, event, facts)
    return turn_of(
        taken,
        state,
        answered=lambda: _filled_in(state.step, taken, record, facts),
        back=lambda: _to_card(record),
        ask=lambda: _ask_of_joining(taken.state, record, facts, taken.again),
    )


def _filled_in(key: str, taken: Taken, record: ClientRecord, facts: Facts) -> Turn:
    given, found = taken_in(key, record.id, taken.state.answers["given"], facts)
    changes = (*found, Audit(record.id, "answer_corrected", key)) if taken.value else ()
    turn = _ask_missing(taken.state, record, facts, given)
    return Turn(turn.state, says=turn.says, changes=changes)


def _code(state: State, event: Event) -> str | None:
    """The button of this step, the words typed, or ``None`` for a button of another step."""
    if event.kind is not EventKind.TAP:
        return event.value
    asked, _, code = event.value.rpartition(ASKED)
    return code if asked == state.step else None


def _ask(state: State, record: ClientRecord, facts: Facts, again: Reask | None = None) -> Turn:
    if state.step in JOIN_FORM.by_key:
        return _ask_of_joining(state, record, facts, again)
    today = record.person.local(facts.now).date()
    if state.step.startswith(TOLD_OF):
        ask = state.step.removeprefix(TOLD_OF)
        codes = (*CHOICES[ask], NOT_KNOWN, "stop")
        offered = tuple((_button(state.step, code),) for code in codes)
        about = {"name": record.person.name, "ask": ask, "choices": list(CHOICES[ask])}
        return Turn(state, says=(Say("coach/start_told", about, rows=offered, slot=SLOT),))
    strength = _strength_shown(state, record, facts)
    strengths = [" ".join(word for word in CoachWord if word.value != strength)] if strength else []
    values = {
        **proposal_values(given_of(record), today),
        "strength": strength,
        "asks": asks_of_coach(record.client, facts, today),
        "name": record.person.name,
        "place": facts.reference.countries.get(record.person.country, Country("", "")),
        "again": again.why.value if again else "",
        "again_about": again.about if again else "",
        "on_hold": facts.hold(record.id) is not None,
    }
    rows = {
        "identity": rows_of("right", "name country", "stop"),
        "word": rows_of("own", "stop"),
        "word_on": rows_of("today", "stop"),
        "sure": rows_of("sure", "stop"),
        "sugar": rows_of("mmol", "mg", "no", "stop"),
        "until": rows_of("3 6 12", *strengths, "stop"),
    }[state.step]
    named: Rows = tuple(tuple(_button(state.step, button.value) for button in row) for row in rows)
    if again and again.days:
        named = (*day_buttons(state.step, again.days), *named)
    return Turn(state, says=(Say(f"coach/start_{state.step}", values, rows=named, slot=SLOT),))


def _identity(state: State, code: str, event: Event, record: ClientRecord, facts: Facts) -> Turn:
    args = {"client": str(record.id)}
    if code in ("name", "country"):
        key = "called" if code == "name" else "country"
        return Turn(None, begin=(Begin("coach_correct", {**args, "key": key}),))
    spoken = facts.reference.spoken.get("form", {})
    if event.kind is EventKind.TEXT and read_choice(code, ("right",), spoken) != "right":
        return not_understood(state)
    return _identity_is_right(state, record, facts)


def _identity_is_right(state: State, record: ClientRecord, facts: Facts) -> Turn:
    """Said by tap, here or on the card that shows both."""
    confirmed = SaveProfile(record.id, {"number_confirmed": True, "name_confirmed": True})
    turn = _ask_missing(state, record, facts)
    return Turn(turn.state, says=turn.says, changes=(confirmed,))


def _word(state: State, code: str, event: Event, record: ClientRecord, facts: Facts) -> Turn:
    """The doctor's word as the coach heard it, or her own decision."""
    if event.kind is EventKind.TAP:
        needs = proposal_of(given_of(record), record.person.local(facts.now).date()).needs_doctor
        state = state.at("sure", word="")
        return _ask(state if needs else _decided(state, record, facts), record, facts)
    today = record.person.local(facts.now).date()
    said, day = with_a_day(code, today, facts)
    words = read_words(said, 200, 6)
    if isinstance(words, Reask):
        return _ask(state, record, facts, words)
    state = state.at("word_on", word=words)
    if day:
        return _word_on(state, day, replace(event, value=day), record, facts)
    return _ask(state, record, facts)


def _word_on(state: State, code: str, event: Event, record: ClientRecord, facts: Facts) -> Turn:
    """Of which day the word is; one older than a year does not count."""
    today = record.person.local(facts.now).date()
    if event.kind is EventKind.TAP and code == "today":
        day = today
    else:
        read = day_past(code, today, facts)
        if isinstance(read, Reask):
            return _ask(state, record, facts, read)
        day = read
        if today - day > timedelta(days=VALID_DAYS):
            return _ask(state, record, facts, Reask(Why.OUT_OF_RANGE, code))
    decided = _decided(state.at("word_on", word_on=day.isoformat()), record, facts)
    turn = _ask(decided, record, facts)
    return replace(turn, says=(*said_back(event, day), *turn.says))


def _sure(state: State, _code: str, event: Event, record: ClientRecord, facts: Facts) -> Turn:
    """The rules ask for a doctor's word and there is none: a second tap."""
    if event.kind is not EventKind.TAP:
        return _ask(state.at("word"), record, facts)
    return _ask(_decided(state.at("sure", word=""), record, facts), record, facts)


def _decided(state: State, record: ClientRecord, facts: Facts) -> State:
    """That the client may start is decided; sugar comes next where a medicine can bring it low."""
    client = record.client
    lows = lows_possible(client.medicines, diabetes=Condition.DIABETES in client.conditions)
    if lows and "glucose" not in client.limits.numbers_asked:
        return state.at("sugar")
    return state.at("until")


def _strength_shown(state: State, record: ClientRecord, facts: Facts) -> str:
    """The coach's word on strength, shown to be changed before there are sets; else ""."""
    known = record.answers.get("fitness") or facts.history(record.id).sets
    return "" if known else str(state.answers.get("fitness", CoachWord.USUAL.value))


def _sugar(state: State, code: str, event: Event, record: ClientRecord, facts: Facts) -> Turn:
    """Whether the sugar is asked each morning and before a session, and in which unit."""
    if event.kind is EventKind.TEXT:
        spoken = facts.reference.spoken.get("sugar_asked", {})
        found = read_choice(code, ("mmol", "mg", "no"), spoken)
        if isinstance(found, Reask):
            return not_understood(state)
        code = found
    changes: tuple[Change, ...] = ()
    if code != "no":
        numbers: list[JsonValue] = [*sorted({*record.client.limits.numbers_asked, "glucose"})]
        unit = UNITS[0] if code == "mmol" else UNITS[1]
        limits = merged_limits(record, {"numbers": numbers, "glucose_unit": unit})
        changes = (
            SaveProfile(record.id, {"limits": limits}),
            Audit(record.id, "limit_changed", "numbers"),
        )
    turn = _ask(state.at("until"), record, facts)
    return Turn(turn.state, says=turn.says, changes=changes)


def _until(state: State, code: str, event: Event, record: ClientRecord, facts: Facts) -> Turn:
    """Until when; before it, the strength that is shown may be changed, by a tap or in words."""
    today = record.person.local(facts.now).date()
    strength = _strength_shown(state, record, facts)
    spoken = facts.reference.spoken.get("fitness", {})
    said = read_choice(code, tuple(CoachWord), spoken) if strength else None
    if isinstance(said, str):
        return _ask(state.at("until", fitness=said), record, facts)
    if event.kind is EventKind.TAP and code in MONTHS:
        until = today + timedelta(days=MONTHS[code])
    else:
        day = day_ahead(code, today, today + timedelta(days=VALID_DAYS), facts)
        if isinstance(day, Reask):
            return _ask(state, record, facts, day)
        until = day
    word = str(state.answers.get("word", ""))
    word_on = str(state.answers.get("word_on", "")) if word else ""
    if word_on:
        # A doctor's word counts for a year.
        until = min(until, date.fromisoformat(word_on) + timedelta(days=VALID_DAYS))
    told_strength = {"fitness": strength} if strength else {}
    changes = (
        SaveProfile(
            record.id,
            {
                "doctor_word": word or None,
                "doctor_word_on": word_on or None,
                **told_strength,
                **restart_begins(record, facts),
            },
        ),
        ClearToStart(record.id, until),
        Audit(record.id, "doctor_word_given" if word else "own_decision"),
    )
    told = Say(
        "join/you_may_start",
        {"coach_name": facts.me.name, "on_hold": facts.hold(record.id) is not None},
        to=record.id,
        kind=Kind.PROMPT,
    )
    waits = keeps_back(record, facts, of_training=False)
    values = {
        "name": record.person.name,
        "until": until,
        "reached": facts.reaches(record.id),
        "waits": waits,
    }
    done = Say("coach/started", values, slot=SLOT)
    turn = _to_card(record)
    says = (done,) if waits else (done, told)
    return Turn(None, says=says, changes=changes, begin=turn.begin)


def _to_card(record: ClientRecord) -> Turn:
    return Turn(None, begin=(Begin("coach_client", {"client": str(record.id)}),))


def _button(asked: str, code: str) -> Button:
    return Button(f"{asked}{ASKED}{code}")
