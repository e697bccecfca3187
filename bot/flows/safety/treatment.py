"""What is taken for a sign, and whether it has helped: a question of our own at its time.

Low sugar is treated and measured again, a spray and a reliever must work within minutes, and chest
pain that went may come back. Silence and "no" are never taken for "better". The advice itself
stands in :mod:`bot.flows.safety.warning`, which begins this; the messages go out on hold, too.
"""

from collections.abc import Sequence
from datetime import datetime, timedelta
from enum import StrEnum

from bot.flows.changes import AddWords
from bot.flows.facts import ClientRecord, Facts
from bot.flows.machine import (
    Begin,
    Event,
    EventKind,
    Say,
    State,
    Turn,
    not_understood,
    pressed,
    rows_of,
)
from bot.flows.reasons import Reason
from bot.flows.safety.opening import Heard, SafetyOpening, begin_safety
from bot.messages import Kind
from core.readiness.morning_numbers import SUGAR_LOW, SUGAR_SEVERE
from core.readiness.scales import UnusableAnswer, parse_glucose
from core.red_flags.reading import Reading
from core.vocabulary import MMOL_PER_MG, Condition, Medicine, Sign, TextLevel

NAME = "treatment"
SLOT = "treatment"
WAITING, ASKED = "waiting", "asked"


class Remedy(StrEnum):
    """What is waited for."""

    SUGAR = "sugar"
    SPRAY = "spray"
    RELIEVER = "reliever"
    GONE = "gone"  # nothing is taken: chest pain that went


ASKED_AFTER = {
    Remedy.SUGAR: timedelta(minutes=15),
    Remedy.SPRAY: timedelta(minutes=5),
    Remedy.RELIEVER: timedelta(minutes=2),
    Remedy.GONE: timedelta(minutes=15),
}
"""When it must have helped: ADA and NHS (sugar), NHS (spray); the other two are ours."""

ANSWER_WITHIN = {
    Remedy.SUGAR: timedelta(minutes=5),
    Remedy.SPRAY: timedelta(minutes=2),
    Remedy.RELIEVER: timedelta(minutes=2),
    Remedy.GONE: timedelta(minutes=5),
}
"""Silence for this long counts as "no"."""

STILL_LOW_AT_MOST = 1
"""So often it may still be low; once more is an emergency."""

GRAVE = {
    Remedy.SUGAR: Sign.HYPO,
    Remedy.SPRAY: Sign.CHEST_PAIN,
    Remedy.RELIEVER: Sign.ASTHMA_SEVERE,
    Remedy.GONE: Sign.CHEST_PAIN,
}
"""The sign that it is when it has not helped."""

_CHEST = frozenset({Sign.CHEST_PAIN, Sign.CHEST_DISCOMFORT_GONE})
_BREATH = frozenset({Sign.BREATHLESS_REST, Sign.BREATHLESS_EFFORT, Sign.ASTHMA_SEVERE})
_SPRAY_FOR = frozenset({Condition.ANGINA, Condition.HEART})
_RELIEVER_FOR = frozenset({Condition.ASTHMA, Condition.LUNG})


def remedy_of(signs: Sequence[Sign], level: TextLevel, record: ClientRecord) -> Remedy | None:
    """What this client takes for these signs; None where there is nothing to ask about later."""
    client, told = record.client, set(signs)
    if Sign.HYPO in told:
        # In an emergency others are on their way: they measure.
        return Remedy.SUGAR if level is TextLevel.URGENT else None
    has_spray = Medicine.NITRATE in client.medicines or bool(record.doctor_plan)
    if told & _CHEST and client.conditions & _SPRAY_FOR and has_spray:
        return Remedy.SPRAY
    has_reliever = Medicine.RELIEVER_INHALER in client.medicines or bool(record.doctor_plan)
    if told & _BREATH and client.conditions & _RELIEVER_FOR and has_reliever:
        return Remedy.RELIEVER
    return Remedy.GONE if Sign.CHEST_DISCOMFORT_GONE in told else None


def follow_up(
    signs: Sequence[Sign], level: TextLevel, record: ClientRecord, *, told_before: bool = False
) -> tuple[Begin, ...]:
    """Ask later whether it has helped, where there is something to ask.

    Args:
        told_before: the same signs stood on the alert already: of a sugar, it is low once more.
    """
    remedy = remedy_of(signs, level, record)
    if remedy is None or (told_before and remedy is not Remedy.SUGAR):
        return ()
    return (Begin(NAME, {"remedy": remedy.value, "still_low": int(told_before)}),)


def step(state: State, event: Event, facts: Facts) -> Turn:
    """Take one event (see :mod:`bot.flows.machine`)."""
    if event.kind is EventKind.BEGIN:
        return _begin(event, facts)
    remedy = Remedy(state.answers["remedy"])
    if event.kind is EventKind.RESUME:
        # Asked again in the same words; the moment at which silence counts does not move.
        due_at = datetime.fromisoformat(str(state.answers["due"]))
        waits = state.step == WAITING
        says = () if waits else question_about(remedy, facts)
        return Turn(state, says=says, quiet=waits, due_at=max(due_at, facts.now))
    if event.kind is EventKind.DUE:
        if state.step == ASKED:
            return _not_helped(remedy, facts, "no_answer", heard=Heard.SILENCE)
        return _ask(state, remedy, facts)
    if state.step != ASKED:
        return not_understood(state)
    return _answered(state, remedy, event, facts)


def tells_what_was_asked(state: State, text: str, reading: Reading, facts: Facts) -> bool:
    """A low sugar is the answer to "what is it now?", and no new sign."""
    return (
        state.step == ASKED
        and state.answers["remedy"] == Remedy.SUGAR.value
        and set(reading.signs) <= {Sign.HYPO}
        and _sugar(text, facts) is not None
    )


def _begin(event: Event, facts: Facts) -> Turn:
    remedy = Remedy(event.args["remedy"])
    still_low = int(event.args.get("still_low", 0))
    if still_low > STILL_LOW_AT_MOST:
        return _not_helped(remedy, facts, "still_low")
    state = State(NAME, WAITING, {"remedy": remedy.value, "still_low": still_low})
    return _wait(state, remedy, facts)


def _wait(state: State, remedy: Remedy, facts: Facts, says: tuple[Say, ...] = ()) -> Turn:
    due_at = facts.now + ASKED_AFTER[remedy]
    state = state.at(WAITING, due=due_at.isoformat())
    return Turn(state, says=says, quiet=True, due_at=due_at)


def _ask(state: State, remedy: Remedy, facts: Facts) -> Turn:
    alert = facts.open_alert(facts.me.id)
    if alert is not None and alert.called == "yes":
        return Turn(None, unasked=True)
    if alert is None and remedy is not Remedy.SUGAR:
        # Somebody has seen to it; a sugar is measured again all the same.
        return Turn(None, unasked=True)
    due_at = facts.now + ANSWER_WITHIN[remedy]
    state = state.at(ASKED, due=due_at.isoformat())
    return Turn(state, says=question_about(remedy, facts), due_at=due_at)


def question_about(remedy: Remedy, facts: Facts) -> tuple[Say, ...]:
    """Whether it has helped; for a sugar, what it is now."""
    rows = "up low cannot" if remedy is Remedy.SUGAR else "better not_better"
    unit = facts.client(facts.me.id).client.limits.glucose_unit
    values = {"remedy": remedy.value, "line": _in_unit(SUGAR_LOW, unit), "unit": unit}
    buttons = tuple(row for value in rows.split() for row in rows_of(value))
    return (Say("safety/has_it_helped", values, rows=buttons, slot=SLOT, kind=Kind.SAFETY),)


def _in_unit(mmol: float, unit: str) -> str:
    return f"{mmol:.1f}" if unit == "mmol/L" else f"{mmol / MMOL_PER_MG:.0f}"


def _sugar(text: str, facts: Facts) -> float | None:
    """A blood sugar that was typed, mmol/L."""
    unit = facts.client(facts.me.id).client.limits.glucose_unit
    value = parse_glucose(text, unit, facts.reference.words.numbers)
    return None if isinstance(value, UnusableAnswer) else value


def _answered(state: State, remedy: Remedy, event: Event, facts: Facts) -> Turn:
    answer = pressed(event, "has_it_helped", facts)
    typed = event.kind is EventKind.TEXT
    if remedy is Remedy.SUGAR:
        sugar = _sugar(event.value, facts) if typed else None
        if sugar is not None:
            if sugar < SUGAR_SEVERE:
                return _not_helped(remedy, facts, "very_low", words=event.value.strip())
            answer = "up" if sugar >= SUGAR_LOW else "low"
        if answer in ("up", "better"):
            return _helped(remedy, event, facts)
        if answer in ("low", "not_better"):
            return _still_low(state, event, facts)
        if answer == "cannot":
            return _not_helped(remedy, facts, "cannot_measure")
        return not_understood(state)
    if answer in ("better", "up"):
        return _helped(remedy, event, facts)
    if answer in ("not_better", "low"):
        return _not_helped(remedy, facts, f"{remedy.value}_not_better")
    return not_understood(state)


def _still_low(state: State, event: Event, facts: Facts) -> Turn:
    """The same again, and again fifteen minutes; not a third time."""
    times = int(state.answers["still_low"]) + 1
    if times > STILL_LOW_AT_MOST:
        return _not_helped(Remedy.SUGAR, facts, "still_low", words=_typed(event))
    told = AddWords(facts.me.id, _typed(event), why=Reason("coach", "treatment_low"))
    again = Say("safety/sugar_again", slot=SLOT, kind=Kind.SAFETY)
    state = state.at(WAITING, still_low=times)
    turn = _wait(state, Remedy.SUGAR, facts, (again,))
    return Turn(turn.state, says=turn.says, changes=(told,), quiet=True, due_at=turn.due_at)


def _helped(remedy: Remedy, event: Event, facts: Facts) -> Turn:
    told = AddWords(facts.me.id, _typed(event), why=Reason("coach", f"treatment_{remedy.value}"))
    said = Say("safety/it_helped", {"remedy": remedy.value}, slot=SLOT, kind=Kind.SAFETY)
    return Turn(None, says=(said,), changes=(told,))


def _typed(event: Event) -> str:
    return event.value.strip() if event.kind is EventKind.TEXT else ""


def _not_helped(
    remedy: Remedy, facts: Facts, why: str, *, words: str = "", heard: Heard = Heard.ANSWER
) -> Turn:
    """Not better, or no word: "call now", and the coach hears why."""
    opening = SafetyOpening(
        level=TextLevel.EMERGENCY,
        signs=(GRAVE[remedy],),
        words=words,
        heard=heard,
        why=Reason("coach", f"treatment_{why}"),
    )
    return Turn(None, begin=(begin_safety(opening),))
