"""What a finished check-in makes of the day: the judgement, what is kept, and the reply."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from bot.flows.changes import Change, LogPain, PainSettled, RaiseAlert, SaveCheckin
from bot.flows.client import health_change
from bot.flows.facts import Facts
from bot.flows.machine import Begin, Button, Say, State, Turn
from bot.flows.record.overload_watch import overload_of
from bot.flows.record.planning import (
    is_training_day,
    morning_of_answers,
    next_training_day,
    training_status,
)
from core.dose.history import PainTold
from core.load.overload import Overload, OverloadLevel
from core.readiness.absolute_rule import AbsoluteRule, easier_of
from core.readiness.morning_questions import MorningQuestion, Settled
from core.readiness.readiness import Readiness, assess
from core.readiness.reasons import DayReasonCode
from core.vocabulary import AlertLevel, DayPlan, Sign, Spare, TextLevel

SLOT = "checkin"
UNSAID_PAIN = 5
"""A pain whose amount was not said counts as the top of the acceptable band (Ageberg 2010)."""


@dataclass(frozen=True, slots=True)
class JudgedDay:
    """A finished check-in: what it makes of the day, and the change that keeps it."""

    readiness: Readiness
    overload: Overload
    plan: DayPlan
    reasons: tuple[dict[str, Any], ...]
    saved: SaveCheckin


def judge(on: date, given: Mapping[str, Any], facts: Facts) -> JudgedDay:
    """What all answers of ``on`` together make of that day."""
    record = facts.client(facts.me.id)
    morning = morning_of_answers(on, given)
    readiness = assess(facts.mornings(record.id), morning, record.client, on=on)
    overload = overload_of(record, facts, on, morning)
    reasons = _reasons(readiness, overload)
    plan = easier_of(readiness.plan, overload.plan)
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
    loud = [
        g for g in readiness.absolute_rules if g.alert in (AlertLevel.EMERGENCY, AlertLevel.URGENT)
    ]
    for rule in readiness.absolute_rules:
        if rule.alert is AlertLevel.MENTION:
            signs = (rule.sign,) if rule.sign else ()
            changes = (*changes, _mention(facts, signs, rule.code, rule.numbers))
    if overload.level in (OverloadLevel.DAY_OFF, OverloadLevel.SEE_DOCTOR):
        for reason in overload.reasons:
            changes = (*changes, _mention(facts, (), reason.code, reason.numbers))
    if loud:
        return Turn(None, changes=changes, begin=(_alarm(loud),))
    turn = _result(state, plan, reasons, facts, again=False)
    asks = (health_change.BEGIN,) if health_change.is_due(record, facts) else ()
    return Turn(turn.state, says=turn.says, changes=changes, begin=asks, quiet=True)


def _alarm(loud: Sequence[AbsoluteRule]) -> Begin:
    """The red-flag flow for the strictest of the rules that spoke."""
    worst = loud[0]
    args = {
        "level": (worst.alert or AlertLevel.URGENT).value,
        "if_unanswered": TextLevel.URGENT.value,
        "signs": [rule.sign.value for rule in loud if rule.sign],
        "why": _told(worst.code, worst.numbers),
    }
    return Begin("safety", args)


def _mention(
    facts: Facts, signs: tuple[Sign, ...], code: DayReasonCode, numbers: Mapping[str, float]
) -> RaiseAlert:
    told = _told(code, numbers)
    return RaiseAlert(facts.me.id, AlertLevel.MENTION, signs, why=told, holds=False)


def _told(code: DayReasonCode, numbers: Mapping[str, float]) -> dict[str, Any]:
    return {"group": "readiness", "code": code.value, "numbers": dict(numbers)}


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
    reasons: tuple[Mapping[str, Any], ...],
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
        },
        rows=((Button("today", handler="open", ref="today"),), (Button("change"),)),
        slot=SLOT,
    )
    return Turn(state.at("done"), says=(say,), quiet=True)


def _follow_ups(given: Mapping[str, Any], on: date, facts: Facts) -> tuple[Change, ...]:
    """What other parts of the record want to know of this morning."""
    changes: list[Change] = []
    settled = given.get(MorningQuestion.SETTLED.value)
    if settled is not None:
        changes.append(PainSettled(facts.me.id, settled == Settled.YES))
    place, level = (
        given.get(MorningQuestion.PAIN_PLACE.value),
        given.get(MorningQuestion.PAIN_LEVEL.value),
    )
    if place is not None:
        spare = Spare(place) if place in set(Spare) else None
        changes.append(
            LogPain(
                facts.me.id, PainTold(on, None, spare, UNSAID_PAIN if level is None else int(level))
            )
        )
    return tuple(changes)


def _reasons(readiness: Readiness, overload: Overload) -> tuple[dict[str, Any], ...]:
    """What moved the day, most important first; the overload watch speaks before the rest."""
    speaks = overload.level in (OverloadLevel.DAY_OFF, OverloadLevel.SEE_DOCTOR)
    found = [*(overload.reasons if speaks else ()), *readiness.reasons]
    return tuple({"code": r.code.value, "numbers": dict(r.numbers)} for r in found)
