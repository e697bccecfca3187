"""What a finished check-in makes of the day: the judgement, what is kept, and the reply."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from bot.flows.changes import Change, LogPain, PainSettled, RaiseAlert, SaveCheckin
from bot.flows.client import health_change
from bot.flows.client.checkin_questions import SLOT
from bot.flows.client.told_in_checkin import ALARMED, still_loud
from bot.flows.facts import Answers, Facts
from bot.flows.machine import Begin, Button, Say, State, Turn
from bot.flows.reasons import Reason
from bot.flows.record.on_the_way import watch_ends
from bot.flows.record.overload_watch import overload_of
from bot.flows.record.overrules import with_day_set
from bot.flows.record.planning import (
    is_training_day,
    morning_of_answers,
    next_training_day,
    restarts_on,
    training_status,
)
from bot.flows.record.said_unwell import asked_first
from bot.flows.record.told_to_coach import told_reason, told_rule
from bot.flows.safety.opening import Heard, SafetyOpening, begin_safety
from bot.json_values import JsonValue
from core.dose.history import PainTold
from core.load.overload import Overload, OverloadLevel
from core.readiness.absolute_rule import AbsoluteRule, easier_of
from core.readiness.morning_questions import MorningQuestion, Settled, read_pain_place
from core.readiness.readiness import Readiness, assess
from core.readiness.reasons import DayReason
from core.vocabulary import AlertLevel, DayPlan, Sign, Spare, TextLevel

UNSAID_PAIN = 5
"""A pain whose amount was not said counts as the top of the acceptable band (Ageberg 2010)."""


@dataclass(frozen=True, slots=True)
class JudgedDay:
    """A finished check-in: what it makes of the day, and the change that keeps it."""

    readiness: Readiness
    overload: Overload
    plan: DayPlan
    reasons: tuple[DayReason, ...]
    saved: SaveCheckin


def judge(on: date, given: Mapping[str, JsonValue], facts: Facts) -> JudgedDay:
    """What all answers of ``on`` together make of that day."""
    record = facts.client(facts.me.id)
    morning = morning_of_answers(on, given)
    readiness = assess(facts.mornings(record.id), morning, record.client, on=on)
    overload = overload_of(record, facts, on, morning)
    reasons = _reasons(readiness, overload)
    plan = easier_of(readiness.plan, overload.plan)
    plan, reasons = with_day_set(record, readiness, plan, reasons)
    saved = SaveCheckin(
        record.id,
        on,
        given,
        finished=True,
        score=readiness.score,
        day_plan=plan.value,
        certainty=readiness.certainty,
        reasons=reasons,
    )
    return JudgedDay(readiness, overload, plan, reasons, saved)


def finish(state: State, facts: Facts, changes: tuple[Change, ...]) -> Turn:
    """All is answered: judge the day, keep it, and say it."""
    record = facts.client(facts.me.id)
    on = date.fromisoformat(state.answers["on"])
    given = dict(state.answers.get("given", {}))
    judged = judge(on, given, facts)
    readiness, overload, reasons = judged.readiness, judged.overload, judged.reasons
    plan, saved = judged.plan, judged.saved
    changes = (*changes, saved, *_follow_ups(given, on, facts))
    loud = still_loud(readiness.absolute_rules, given)
    for rule in readiness.absolute_rules:
        if rule.alert is AlertLevel.MENTION and rule.code.value not in given.get(ALARMED, ()):
            signs = (rule.sign,) if rule.sign else ()
            changes = (*changes, _mention(facts, signs, told_rule(rule, given, facts)))
    if overload.level in (OverloadLevel.DAY_OFF, OverloadLevel.SEE_DOCTOR):
        for reason in overload.reasons:
            changes = (*changes, _mention(facts, (), told_reason(reason.code, reason.numbers)))
    if loud:
        others = other_rules_told(loud, given, facts)
        return Turn(None, changes=(*changes, *others), begin=(alarm(loud, given, facts),))
    if facts.says_unwell(record.id):
        # What is wrong comes first; whoever is fine reads of the day then.
        first = (asked_first("checkin"),)
        return Turn(state.at("done"), changes=changes, begin=first, quiet=True)
    turn = _result(state, plan, reasons, facts, again=False)
    # A day of rest ends what is on its way.
    stops = watch_ends(facts) if plan is DayPlan.REST else ()
    asks = (health_change.BEGIN,) if health_change.is_due(record, facts) else ()
    return Turn(turn.state, says=(*stops, *turn.says), changes=changes, begin=asks, quiet=True)


def alarm(
    loud: Sequence[AbsoluteRule],
    given: Answers,
    facts: Facts,
    *,
    heard: Heard = Heard.ANSWER,
    words: str = "",
) -> Begin:
    """The red-flag flow for the strictest of the rules that spoke.

    Args:
        words: the client's own, where it was no answer.
    """
    worst = loud[0]
    return begin_safety(
        SafetyOpening(
            level=TextLevel((worst.alert or AlertLevel.URGENT).value),
            signs=tuple(rule.sign for rule in loud if rule.sign),
            why=told_rule(worst, given, facts),
            heard=heard,
            words=words,
        )
    )


def other_rules_told(
    loud: Sequence[AbsoluteRule], given: Answers, facts: Facts
) -> tuple[RaiseAlert, ...]:
    """The alert says one of the rules: the numbers of the others stand on the list."""
    return tuple(_mention(facts, (), told_rule(rule, given, facts)) for rule in loud[1:])


def _mention(facts: Facts, signs: tuple[Sign, ...], why: Reason) -> RaiseAlert:
    return RaiseAlert(facts.me.id, AlertLevel.MENTION, signs, why=why, holds=False)


def show_result(state: State, facts: Facts) -> Turn:
    """The reply of a check-in that is finished already."""
    place = training_status(facts)
    if place.checkin is None:
        return Turn(None, begin=(Begin("checkin"),))
    plan = DayPlan(place.checkin.day_plan)
    turn = _result(state, plan, place.checkin.reasons, facts, again=True)
    return Turn(turn.state, says=turn.says, quiet=True)


def _result(
    state: State,
    plan: DayPlan,
    reasons: tuple[DayReason, ...],
    facts: Facts,
    *,
    again: bool,
) -> Turn:
    record = facts.client(facts.me.id)
    on = date.fromisoformat(state.answers["on"])
    next_day = next_training_day(record, on)
    say = Say(
        "checkin/result",
        {
            "plan": plan.value,
            "reasons": list(reasons[:2]),
            "training_day": is_training_day(record, on),
            "next_day": next_day.isoweekday() if next_day else 0,
            "again": again,
            "restart": restarts_on(record, on, facts),
        },
        rows=((Button("today", handler="open", ref="today"),), (Button("change"),)),
        slot=SLOT,
    )
    return Turn(state.at("done"), says=(say,), quiet=True)


def _follow_ups(given: Mapping[str, JsonValue], on: date, facts: Facts) -> tuple[Change, ...]:
    """What other parts of the record want to know of this morning."""
    changes: list[Change] = []
    settled = given.get(MorningQuestion.SETTLED.value)
    if settled is not None:
        changes.append(PainSettled(facts.me.id, settled == Settled.YES))
    told = read_pain_place(str(given.get(MorningQuestion.PAIN_PLACE.value) or ""))
    level = given.get(MorningQuestion.PAIN_LEVEL.value)
    if told is not None:
        spare = Spare(told[0].value) if told[0].value in set(Spare) else None
        how_much = int(level) if isinstance(level, int | float) else UNSAID_PAIN
        changes.append(LogPain(facts.me.id, PainTold(on, None, spare, how_much)))
    return tuple(changes)


def _reasons(readiness: Readiness, overload: Overload) -> tuple[DayReason, ...]:
    """What moved the day, most important first; the overload watch speaks before the rest."""
    speaks = overload.level in (OverloadLevel.DAY_OFF, OverloadLevel.SEE_DOCTOR)
    return (*(overload.reasons if speaks else ()), *readiness.reasons)
