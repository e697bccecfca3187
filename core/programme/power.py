"""Power: once a week the first stands of the session are quick, for whoever may.

Fast up and controlled down (Balachandran 2022: function a little better than slow work, no serious
events; low certainty). After four weeks of technique, both feet, one or two sets of six to eight,
stopped when slower; not with a new operation, a spine fracture or high pressure (common practice).
"""

from dataclasses import replace
from datetime import timedelta
from typing import Final

from core.client.care import Care, is_careful
from core.dose.bounds import never_offered
from core.dose.family_record import MOST_PAIN_OF_A_GOOD_SET
from core.dose.history import SetDone, Unit
from core.dose.prescribe import amounts_for
from core.dose.prescription import DoseCode, DoseReason, Prescription, SessionPlan
from core.dose.selection import predicted_left
from core.dose.session import Today
from core.movements.ladder import LadderStep
from core.vocabulary import Condition, Family, WalkingAid

QUICK_RUNGS: Final = frozenset({"squat_to_chair", "squat_touch_chair"})
"""Up from a seat that is there, on both feet."""

TECHNIQUE_FIRST: Final = timedelta(weeks=4)
MOST_REPS, MOST_SETS = 8, 2
CLEAN_SESSIONS: Final = 4
"""So many sessions of the family before it were without a slip and as good as without pain."""

NOT_WITH: Final = frozenset(
    {Condition.SPINE_FRACTURE, Condition.VERTIGO, Condition.PARKINSON, Condition.DEMENTIA}
)
"""Fractures by the rule; the others fall more easily when quick (ours)."""


def with_quick_rise(plan: SessionPlan, today: Today, *, dizzy: bool) -> SessionPlan:
    """A plan whose stands from the chair are quick today, where that is allowed; else the plan.

    Args:
        dizzy: dizziness, a faint or a fall was told lately.
    """
    if dizzy or not _may_be_quick(today):
        return plan
    items = tuple(_quick_if_ready(item, today) for item in plan.prescriptions)
    return replace(plan, prescriptions=items)


def _may_be_quick(today: Today) -> bool:
    client, order = today.client, today.order
    steady = client.falls == 0 and client.walking_aid is WalkingAid.NONE
    calm = not (today.lightest or order.ease_off or order.no_holds)
    slow = bool(order.cares & {Care.SLOW_STAND_UPS, Care.LONG_WARM_UP})
    ill = bool(client.conditions & NOT_WITH) or is_careful(client, order.cares)
    recent = any(one.is_recent(order.on) for one in client.operations)
    return steady and calm and not (slow or ill or recent)


def _quick_if_ready(item: Prescription, today: Today) -> Prescription:
    if item.family is not Family.SQUAT or item.unit is not Unit.REPS or item.calibration:
        return item
    step = _stand_of(item, today)
    return _quick(item, step, today) if step is not None and _ready(step, today) else item


def _stand_of(item: Prescription, today: Today) -> LadderStep | None:
    """The stand to be quick in: today's own, or the hardest from a chair under what is due today.

    Not twice in a row, so that strength has its days. What the coach has picked stays as it is.
    """
    if item.step.rung in QUICK_RUNGS:
        return item.step
    before = [one for one in today.history.of_family(Family.SQUAT) if one.on < today.order.on]
    by_coach = today.client.limits.fixed.get(Family.SQUAT) is not None
    if by_coach or not before or before[-1].quick:
        return None
    never = never_offered(today.client, no_holds=False)
    easier = [
        step
        for step in today.painless_steps(Family.SQUAT)
        if step.rung in QUICK_RUNGS and step.demand < item.step.demand and never(step) is None
    ]
    return easier[-1] if easier else None


def _ready(step: LadderStep, today: Today) -> bool:
    """Whether stands as hard have been practised, clean lately, and none was done this week."""
    on = today.order.on
    before = [one for one in today.history.of_family(Family.SQUAT) if one.on < on]
    practised = [
        one
        for one in before
        if one.step_key.partition("@")[0] in QUICK_RUNGS or one.demand >= step.demand
    ]
    monday = on - timedelta(days=on.weekday())
    if not practised or on - practised[0].on < TECHNIQUE_FIRST or before[-1].on >= monday:
        return False
    days = sorted({one.on for one in before})[-CLEAN_SESSIONS:]
    lately = [one for one in before if one.on >= days[0]]
    return len(days) == CLEAN_SESSIONS and all(map(_is_clean, lately))


def _is_clean(done: SetDone) -> bool:
    return not done.slip and done.pain <= MOST_PAIN_OF_A_GOOD_SET


def _quick(item: Prescription, step: LadderStep, today: Today) -> Prescription:
    """A few quick ones of a step; in place of harder squats they change nothing of what is next."""
    amount = min(item.amount, MOST_REPS)
    reasons = (DoseReason(DoseCode.QUICK_RISE), *item.reasons)
    if step.key == item.step.key:
        left = item.predicted_left + item.amount - amount
    else:
        amounts = amounts_for(today.client, step, today.catalogue)
        forecast = today.capacity.forecast(Family.SQUAT)
        left = predicted_left(step.demand, amount, amounts, forecast)
        reasons = reasons[:1]
    return replace(
        item,
        step=step,
        amount=amount,
        low=min(item.low, amount),
        sets=min(item.sets, MOST_SETS),
        predicted_left=max(0.0, left),
        reasons=reasons,
        eased=item.eased or step.key != item.step.key,
    )
