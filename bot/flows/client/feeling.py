"""Something is wrong: which of a few things it is, and what follows from each."""

from bot.flows.changes import LogPain, RaiseAlert
from bot.flows.client.hurting import LEVELS, PLACES, chest_pain
from bot.flows.facts import Facts
from bot.flows.machine import Begin, Event, EventKind, Say, State, Turn, rows_of
from bot.flows.reasons import Reason
from bot.flows.record.planning import Gate, training_status
from bot.flows.safety.opening import SafetyOpening, begin_safety
from bot.flows.safety.signs_first import told_of_a_sign
from bot.flows.typed_answers import pressed
from core.dose.history import PainTold
from core.readiness.scales import PAIN, UnusableAnswer, parse_number
from core.vocabulary import AlertLevel, Sign, Spare, TextLevel

NAME = "feeling"
ONE_SCREEN = True
"""Its buttons do not say what they answer: only those of the newest screen count."""
SLOT = "feeling"
SEVERE_PAIN = 8
"""Boonstra 2014: 7.5 and over is severe; on whole numbers, 8."""


def step(state: State, event: Event, facts: Facts) -> Turn:
    """Take one event (see :mod:`bot.flows.machine`)."""
    if event.kind is EventKind.BEGIN:
        if event.args.get("hurts") and training_status(facts).gate is Gate.OPEN:
            return Turn(None, begin=(Begin("today", {"wish": "hurts"}),))
        return _ask(state.at("where" if event.args.get("hurts") else "what"))
    if event.kind is EventKind.DUE:
        return Turn(None)
    if event.kind is EventKind.RESUME:
        return _ask(state)
    value = event.value.strip()
    if state.step == "what":
        return _what(state, pressed(event, NAME, facts), facts)
    if state.step == "where":
        where = pressed(event, "pain_place", facts).removeprefix("where=")
        if where == "chest":
            return chest_pain()
        if where in {*Spare, "other"}:
            return _ask(state.at("level", where=where))
    if state.step == "level":
        level = parse_number(value.removeprefix("pain="), PAIN, facts.reference.words.numbers)
        if not isinstance(level, UnusableAnswer):
            return _pain(state, int(level), facts)
    if state.step == "words" and event.kind is EventKind.TEXT and value:
        told = RaiseAlert(
            facts.me.id,
            AlertLevel.MENTION,
            (),
            event.value.strip(),
            holds=False,
            passed_on=True,
        )
        return Turn(None, says=(Say("feeling/passed_on", slot=SLOT),), changes=(told,))
    return Turn(state, understood=False)


def plainly_answers(state: State, text: str, facts: Facts) -> bool:
    """Whether typed words are the number that is asked for."""
    level = parse_number(text, PAIN, facts.reference.words.numbers)
    return state.step == "level" and not isinstance(level, UnusableAnswer)


def _what(state: State, value: str, facts: Facts) -> Turn:
    if value == "sign":
        return Turn(None, begin=(told_of_a_sign(),))
    if value == "pain":
        return _ask(state.at("where"))
    if value == "ill":
        told = RaiseAlert(facts.me.id, AlertLevel.MENTION, (Sign.FEVER,), holds=False)
        return Turn(None, says=(Say("feeling/ill", slot=SLOT),), changes=(told,))
    if value == "tired":
        said = Say("feeling/tired", slot=SLOT)
        return Turn(None, says=(said,), begin=(Begin("checkin", {"change": True}),))
    if value == "else":
        return _ask(state.at("words"))
    return Turn(state, understood=False)


def _ask(state: State) -> Turn:
    rows = {
        "what": rows_of("sign", "pain", "ill", "tired", "else"),
        "where": PLACES,
        "level": LEVELS,
    }.get(state.step, ())
    names = {"where": "session/hurt_where", "level": "session/hurt_level"}
    template = names.get(state.step, f"feeling/ask_{state.step}")
    return Turn(state, says=(Say(template, rows=rows, slot=SLOT),))


def _pain(state: State, level: int, facts: Facts) -> Turn:
    """A pain outside a session: kept, on the coach's list; when severe, an urgent alert."""
    told = str(state.answers["where"])
    where = Spare(told) if told in set(Spare) else None
    today = facts.me.local(facts.now).date()
    kept = LogPain(facts.me.id, PainTold(today, None, where, level))
    why = Reason("coach", "pain", {"where": told, "level": level})
    if level >= SEVERE_PAIN:
        alarm = SafetyOpening(level=TextLevel.URGENT, signs=(Sign.NEW_PAIN,), why=why)
        return Turn(None, changes=(kept,), begin=(begin_safety(alarm),))
    listed = RaiseAlert(facts.me.id, AlertLevel.MENTION, (Sign.NEW_PAIN,), why=why, holds=False)
    said = Say("feeling/pain_told", {"level": level}, slot=SLOT)
    return Turn(None, says=(said,), changes=(kept, listed))
