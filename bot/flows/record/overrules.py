"""What the coach has overruled for a time, and the days of it; kept in the profile.

``overrules``: ``fixed``, ``skipped``, ``ceiling`` and ``floor`` by family, each with the last day
on which it holds, and ``days``, those that she has eased or put back to their plan (``day``: one,
as kept before). No rule
gives way but the score of the morning: absolute rules, holds, clearance, bounds and limits are
asked after it, as ever.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date
from enum import StrEnum
from typing import Any

from bot.flows.facts import Answers, ClientRecord
from bot.json_values import JsonValue
from core.client.client import Limits
from core.readiness.absolute_rule import easier_of
from core.readiness.readiness import Readiness
from core.readiness.reasons import DayReason, DayReasonCode
from core.vocabulary import DayPlan, Family

OVERRULES, OVERRULES_BEFORE = "overrules", "overrules_before"
"""Profile keys; the second is what "undo" brings back."""

MOST_DAYS = 3
"""Yesterday's, today's and tomorrow's: no other day is set."""

OVERLOADED = (DayReasonCode.OVERLOAD_DAY_OFF, DayReasonCode.OVERLOAD_SEE_DOCTOR)


class Overruled(StrEnum):
    """What may be overruled; a sentence each in ``today/coach_set.j2``."""

    FIXED = "fixed"
    SKIPPED = "skipped"
    CEILING = "ceiling"
    FLOOR = "floor"
    DAY = "day"


@dataclass(frozen=True, slots=True)
class Overrule:
    """One thing that is overruled now.

    Attributes:
        family: of a fixed rung, or the one left out; "" for a day.
        rung: the fixed rung, or the hardest or easiest one; "" else.
        demand: of a ceiling or floor on this client's ladder.
        plan: what the day is; "" else.
        until: the last day of it, or that day.
    """

    what: Overruled
    until: date
    family: str = ""
    rung: str = ""
    plan: str = ""
    demand: float = 0.0


def overrules_on(answers: Answers, today: date) -> Iterator[Overrule]:
    """What holds today, or on a later day."""
    kept: Mapping[str, Any] = answers.get(OVERRULES) or {}
    for family, one in kept.get("fixed", {}).items():
        until = date.fromisoformat(one["until"])
        if until >= today:
            yield Overrule(Overruled.FIXED, until, family, one["rung"])
    for family, last in kept.get("skipped", {}).items():
        until = date.fromisoformat(last)
        if until >= today:
            yield Overrule(Overruled.SKIPPED, until, family)
    for what in (Overruled.CEILING, Overruled.FLOOR):
        for family, one in kept.get(what.value, {}).items():
            until = date.fromisoformat(one["until"])
            if until >= today:
                yield Overrule(what, until, family, one["rung"], demand=float(one["demand"]))
    for on, plan in sorted(_days(kept).items()):
        if date.fromisoformat(on) >= today:
            yield Overrule(Overruled.DAY, date.fromisoformat(on), plan=plan)


def _days(kept: Mapping[str, Any]) -> dict[str, str]:
    """ISO day -> what it was made."""
    one = kept.get("day")
    return {**({one["on"]: one["plan"]} if one else {}), **kept.get("days", {})}


def limits_with(limits: Limits, answers: Answers, today: date) -> Limits:
    """The coach's limits with what is overruled today; the lower ceiling counts."""
    found = list(overrules_on(answers, today))
    fixed = {Family(one.family): one.rung for one in found if one.what is Overruled.FIXED}
    skipped = frozenset(Family(one.family) for one in found if one.what is Overruled.SKIPPED)
    ceilings = {
        Family(one.family): min(one.demand, limits.ceilings.get(Family(one.family), one.demand))
        for one in found
        if one.what is Overruled.CEILING
    }
    floors = {Family(one.family): one.demand for one in found if one.what is Overruled.FLOOR}
    if not (fixed or skipped or ceilings or floors):
        return limits
    return replace(
        limits,
        fixed=fixed,
        skipped=skipped,
        ceilings={**limits.ceilings, **ceilings},
        floors={**limits.floors, **floors},
    )


def day_set(record: ClientRecord, on: date) -> DayPlan | None:
    """What the coach has made of that day, if anything."""
    plan = _days(record.answers.get(OVERRULES) or {}).get(on.isoformat())
    return DayPlan(plan) if plan else None


def may_put_back(readiness: Readiness, reasons: tuple[DayReason, ...]) -> bool:
    """Whether a day is eased by the morning's score alone, so that it may go as planned.

    Never against an absolute rule (fever, pain, pressure, pulse, sugar, a changed pill), an
    illness, a score that asks for rest, or the watch on too much training.
    """
    ruled = any(rule.plan is not DayPlan.AS_PLANNED for rule in readiness.absolute_rules)
    overloaded = any(reason.code in OVERLOADED for reason in reasons)
    return not (ruled or overloaded or readiness.ill or readiness.score_plan is DayPlan.REST)


def with_day_set(
    record: ClientRecord, readiness: Readiness, plan: DayPlan, reasons: tuple[DayReason, ...]
) -> tuple[DayPlan, tuple[DayReason, ...]]:
    """The day's plan and its reasons with what the coach has set for that day."""
    wanted = day_set(record, readiness.on)
    if wanted is DayPlan.EASE_OFF and easier_of(plan, wanted) is not plan:
        return wanted, (DayReason(DayReasonCode.COACH_EASED), *reasons)
    put_back = wanted is DayPlan.AS_PLANNED and plan is DayPlan.EASE_OFF
    if put_back and may_put_back(readiness, reasons):
        return DayPlan.AS_PLANNED, (DayReason(DayReasonCode.COACH_PUT_BACK), *reasons)
    return plan, reasons


def changed(
    record: ClientRecord, what: Overruled, value: Mapping[str, Any]
) -> dict[str, JsonValue]:
    """The profile with one thing more overruled; what was there before is kept for "undo".

    Args:
        value: of a day ``on`` and ``plan``, "" to take back what was set of it.
    """
    kept: dict[str, Any] = dict(record.answers.get(OVERRULES) or {})
    if what is Overruled.DAY:
        days = {**_days(kept), value["on"]: value["plan"]}
        newest = sorted(on for on, plan in days.items() if plan)[-MOST_DAYS:]
        others = {key: one for key, one in kept.items() if key != "day"}
        new = {**others, "days": {on: days[on] for on in newest}}
    else:
        new = {**kept, what.value: {**kept.get(what.value, {}), **value}}
    return {OVERRULES: new, OVERRULES_BEFORE: kept}
