"""Why a client's plan is as it is: what was looked at, what ruled it out, what decided; as values.

The plan on record keeps what decided. What else was looked at is worked out again from the record
as it stood before that day's first set.
"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import TypedDict

from bot.flows.facts import Checkin, ClientRecord, Facts
from bot.flows.record.home_test_record import tests_of
from bot.flows.record.limits_now import within_limits
from bot.flows.record.planning import Gate, is_away, planned, today_before, training_status_of
from core.dose.prescribe import prescribe
from core.dose.prescription import Considered, DoseReason, Prescription, SessionPlan
from core.movements.ladder import LadderStep
from core.programme.balance import balance_today
from core.vocabulary import Family

LOOK_BACK_DAYS = 60
NEIGHBOURS = 3
"""Steps on each side of the chosen one that are listed one by one; the others are counted."""


@dataclass(frozen=True, slots=True)
class LookedAt:
    """A step that was looked at.

    Attributes:
        reason: why it was not taken; None for the one that was.
        left: what it would have left in hand, where that was worked out.
    """

    step: LadderStep
    reason: DoseReason | None
    left: float | None


@dataclass(frozen=True, slots=True)
class RuledOut:
    """How many steps a reason ruled out."""

    reason: DoseReason
    steps: int


class WhyPage(TypedDict):
    """What ``coach/why`` shows; None where there is no plan."""

    name: str
    on: date | None
    plan: SessionPlan | None


class WhyMovement(TypedDict):
    """What ``coach/why_movement`` shows.

    Attributes:
        first: what the rules chose before the client asked for a change, if she did.
        near: the steps around the chosen one, hardest first; ``harder`` and ``easier``: the others.
        count: how many steps were looked at.
    """

    name: str
    on: date
    item: Prescription
    first: Prescription | None
    near: Sequence[LookedAt]
    harder: Sequence[RuledOut]
    easier: Sequence[RuledOut]
    count: int


@dataclass(frozen=True, slots=True)
class ShownPlan:
    """A plan that a coach may ask about, with the morning that it rests on."""

    on: date
    plan: SessionPlan
    checkin: Checkin


def shown_plan(record: ClientRecord, facts: Facts) -> ShownPlan | None:
    """Today's plan, also one that the client has not looked at yet; else the last one."""
    place = training_status_of(record, facts)
    planless = facts.session(record.id, place.today) is None
    if planless and place.gate is Gate.OPEN and place.checkin is not None:
        return ShownPlan(place.today, planned(record, place.checkin, facts), place.checkin)
    days = dict.fromkeys(one.on for one in reversed(facts.sessions(record.id, LOOK_BACK_DAYS)))
    return next(filter(None, (_shown_on(day, record, facts) for day in days)), None)


def _shown_on(on: date, record: ClientRecord, facts: Facts) -> ShownPlan | None:
    """The plan of a day, where it and its morning are on record."""
    session, checkin = facts.session(record.id, on), facts.checkin(record.id, on)
    if session is None or session.plan is None or checkin is None:
        return None
    if not _is_known(session.plan, facts):
        return None
    is_today = on == record.person.local(facts.now).date()
    plan = within_limits(session.plan, record)[0] if is_today else session.plan
    return ShownPlan(on, plan, checkin)


def _is_known(plan: SessionPlan, facts: Facts) -> bool:
    """Whether all its rungs still are in the catalogue; a practice may take its own out again."""
    return all(item.step.rung in facts.reference.catalogue.by_id for item in plan.prescriptions)


def why_page(record: ClientRecord, shown: ShownPlan | None) -> WhyPage:
    """All movements of the plan, each with what decided most."""
    if shown is None:
        return {"name": record.person.name, "on": None, "plan": None}
    return {"name": record.person.name, "on": shown.on, "plan": shown.plan}


def why_movement(
    record: ClientRecord, shown: ShownPlan, family: Family, facts: Facts
) -> WhyMovement:
    """Everything about one movement of the plan."""
    item = next(one for one in shown.plan.prescriptions if one.family is family)
    anew, steps = _worked_out_anew(record, shown, family, facts)
    lines = _lines(anew.considered, steps) if anew else []
    at = next((place for place, line in enumerate(lines) if line.reason is None), 0)
    near = lines[max(0, at - NEIGHBOURS) : at + NEIGHBOURS + 1]
    changed = anew is not None and anew.step.key != item.step.key
    return {
        "name": record.person.name,
        "on": shown.on,
        "item": item,
        "first": anew if changed else None,
        "near": near[::-1],
        "harder": _counted(lines[at + NEIGHBOURS + 1 :]),
        "easier": _counted(lines[: max(0, at - NEIGHBOURS)]),
        "count": len(lines),
    }


def _worked_out_anew(
    record: ClientRecord, shown: ShownPlan, family: Family, facts: Facts
) -> tuple[Prescription | None, Sequence[LadderStep]]:
    today = today_before(record, shown.checkin, facts, away=is_away(shown.plan))
    item = next(one for one in shown.plan.prescriptions if one.family is family)
    today = replace(today, order=replace(today.order, may_calibrate=item.calibration))
    steps = today.steps(family)
    found = prescribe(
        today.client,
        steps,
        today.record(family),
        today.capacity,
        today.order,
        today.catalogue,
    )
    if found is not None and family is Family.BALANCE:
        found = balance_today(today, found, tests_of(record.answers))
    return found, steps


def _lines(considered: Sequence[Considered], steps: Sequence[LadderStep]) -> list[LookedAt]:
    """The steps looked at, easy to hard."""
    known = {step.key: step for step in steps}
    return [
        LookedAt(known[one.step_key], one.ruled_out, one.predicted_left)
        for one in considered
        if one.step_key in known
    ]


def _counted(lines: Sequence[LookedAt]) -> list[RuledOut]:
    """How many steps each reason ruled out, most first."""
    reasons = [line.reason for line in lines if line.reason is not None]
    said = {reason.code: reason for reason in reversed(reasons)}
    counts = Counter(reason.code for reason in reasons)
    return [RuledOut(said[code], count) for code, count in counts.most_common()]
