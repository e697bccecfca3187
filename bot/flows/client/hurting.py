"""It hurts: where, how much, sharp or not; and what becomes of the movement (the pain rule).

The number is kept and rings with its tap: whether the pain is sharp only adds to it.
"""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from bot.flows.changes import Change, LogPain, PainWasSharp
from bot.flows.client.cards import SLOT, changed, show_change
from bot.flows.facts import Facts
from bot.flows.machine import Begin, Event, EventKind, Rows, Say, State, Turn, pressed, rows_of
from bot.flows.parsing import plain_words, read_answer, read_number
from bot.flows.record.planning import Training
from bot.flows.record.told_counts import hurt_told
from bot.flows.record.told_to_coach import place_named, told_pain
from bot.flows.safety.opening import SafetyOpening, begin_safety
from bot.flows.safety.signs_first import told_of_a_sign
from core.client.client import Client
from core.client.operations import Side
from core.dose.history import PainTold
from core.readiness.morning_questions import PainPlace, PainReport, PainSince, read_pain_place
from core.readiness.pain_rule import pain_rule
from core.readiness.scales import PAIN, UnusableAnswer, parse_number
from core.red_flags.reading import Reading, TextReasonCode
from core.vocabulary import AlertLevel, Sign, Spare, TextLevel

SHARP_ASKED = "hurt_sharp"
STEPS = ("hurt_where", "hurt_level", SHARP_ASKED)
SHARP = "sharp"
CHEST = "chest"
PAIN_KINDS = (SHARP, "dull")
PLACES: Rows = rows_of(
    "where=knee where=hip",
    "where=back where=shoulder",
    "where=wrist where=elbow",
    "where=ankle where=neck",
    "where=other",
    "where=chest",
)
LEVELS: Rows = rows_of(
    "pain=0 pain=1 pain=2 pain=3",
    "pain=4 pain=5 pain=6 pain=7",
    "pain=8 pain=9 pain=10",
)


def ask_where(state: State) -> Turn:
    """Open the questions about a pain."""
    say = Say("session/hurt_where", {"stop": True}, rows=rows_to(PLACES, state), slot=SLOT)
    return Turn(state.at("hurt_where"), says=(say,))


def rows_to(rows: Rows, state: State) -> Rows:
    """In a running session there is always a way out."""
    return (*rows, *rows_of("stop")) if state.answers.get("running") else rows


def step_hurting(state: State, event: Event, training: Training) -> Turn:
    """Take one event while the pain is asked about."""
    if event.kind is EventKind.RESUME:
        return _ask(state)
    if state.step == "hurt_where":
        told = told_where(event.value, training.facts)
        if told is not None and told["where"] == CHEST:
            return chest_pain()
        if told is not None:
            return _ask(state.at("hurt_level", **told))
    elif state.step == "hurt_level":
        level = parse_number(event.value.removeprefix("pain="), PAIN, training.numbers)
        if not isinstance(level, UnusableAnswer):
            return _kept(state, int(level), training)
    elif (kind := pressed(event, "pain_kind", training.facts)) in PAIN_KINDS:
        return _settle(state, kind == SHARP, training)
    return Turn(state, understood=False)


def chest_pain() -> Turn:
    """Pain in the chest is not measured: it starts the red-flag flow."""
    return Turn(None, begin=(told_of_a_sign(Sign.CHEST_PAIN),))


def names_only_a_place(text: str, reading: Reading, facts: Facts) -> bool:
    """Whether "left ankle" is a place and no more, though the second opinion alone doubts it."""
    if reading.because.code is not TextReasonCode.SECOND_OPINION:
        return False
    told = told_where(text.strip(), facts)
    return told is not None and told["where"] != CHEST


def told_where(said: str, facts: Facts) -> dict[str, str] | None:
    """The answer to "Where does it hurt?": one of :data:`PLACES`, the side where one was typed.

    ``None`` for words that are no such answer.
    """
    code = read_answer(said, facts.reference.answers["pain_place"]) or said.removeprefix("where=")
    told = read_pain_place(plain_words(code))
    where, side = (code, None) if told is None else (told[0].value, told[1])
    if where not in {*Spare, "other", CHEST}:
        return None
    return {"where": where, "side": side.value if side else ""}


def pain_told(text: str, training: Training) -> str | None:
    """The place of a pain told in a sentence, "" where none is named; ``None`` for other words.

    With a count of the set beside it, it belongs to the set. A chest that the reader of warning
    signs has let pass ("chest pain in 2009") is no place: where it hurts is asked.
    """
    facts = training.facts
    if not hurt_told(text, facts) or isinstance(
        read_number(text, 0, 1000, facts.reference.words.numbers), float
    ):
        return None
    said = plain_words(text).split()
    sides = [word for word in said if word in set(Side)]
    places = {word for word in said if told_where(word, facts) is not None}
    if CHEST in places:
        return ""
    side = f"{sides[0]} " if len(sides) == 1 else ""
    return f"{side}{places.pop()}" if len(places) == 1 else ""


def told_to_hurt(state: State, place: str) -> Turn:
    """On with a pain whose place was told; where it was not, that is asked."""
    where, _, joint = place.rpartition(" ")
    if not joint:
        return ask_where(state)
    return _ask(state.at("hurt_level", where=joint, side=where))


def report_of(answers: Mapping[str, Any], level: int) -> PainReport:
    """The pain whose place :func:`told_where` has read."""
    told, side = str(answers.get("where", "")), str(answers.get("side", ""))
    place = PainPlace(told) if told in set(PainPlace) else PainPlace.ELSEWHERE
    return PainReport(place, level, PainSince.TODAY, Side(side) if side else None)


def spared(answers: Mapping[str, Any]) -> Spare | None:
    """The place as the record keeps it: a joint that rungs can spare, or none."""
    told = str(answers.get("where", ""))
    return Spare(told) if told in set(Spare) else None


def alarm_of(report: PainReport, client: Client) -> Begin | None:
    """The red-flag flow for a pain that the coach must hear of at once, by the pain rule."""
    rule = pain_rule(report, careful=client.is_careful_at(report.place))
    if rule is None or rule.alert not in (AlertLevel.URGENT, AlertLevel.EMERGENCY):
        return None
    return begin_safety(
        SafetyOpening(
            level=TextLevel(rule.alert.value),
            signs=(rule.sign,) if rule.sign else (),
            why=told_pain(rule, report, client),
        )
    )


def _ask(state: State) -> Turn:
    if state.step == "hurt_where":
        return ask_where(state)
    if state.step == "hurt_level":
        return Turn(
            state, says=(Say("session/hurt_level", rows=rows_to(LEVELS, state), slot=SLOT),)
        )
    return Turn(
        state,
        says=(Say("session/hurt_sharp", rows=rows_to(rows_of("sharp dull"), state), slot=SLOT),),
    )


def _kept(state: State, level: int, training: Training) -> Turn:
    """The number is kept at once, and rings at once; then comes what kind of pain it is."""
    place, family = training.place, training.items[int(state.answers["at"])].family
    told = PainTold(place.today, family, spared(state.answers), level)
    logged = LogPain(place.record.id, told)
    alarm = alarm_of(report_of(state.answers, level), place.record.client)
    if alarm is not None:
        # As with pain in the chest, the alert ends the session and its watch over silence.
        return Turn(None, changes=(logged,), begin=(alarm,))
    return replace(_ask(state.at(SHARP_ASKED, level=level, kept=True)), changes=(logged,))


def _settle(state: State, sharp: bool, training: Training) -> Turn:
    where = spared(state.answers)
    level, at = int(state.answers["level"]), int(state.answers["at"])
    place = training.place
    report = report_of(state.answers, level)
    careful = place.record.client.is_careful_at(report.place)
    changes: tuple[Change, ...] = ()
    if not state.answers.get("kept"):
        # Asked before an upgrade, when the number waited for this answer.
        family = training.items[at].family
        told = PainTold(place.today, family, where, level, sharp)
        changes = (LogPain(place.record.id, told),)
    elif sharp:
        changes = (PainWasSharp(place.record.id, place.today),)
    after = changed("hurts", training, at, (where, level, sharp), careful_joint=careful)
    named = place_named(report.where, report.side)
    # What would be taken back with the set before it is the plan that this pain has changed.
    state = state.at(state.step, kept=False, undo=None)
    return show_change(state, after, training, changes, where=named)
