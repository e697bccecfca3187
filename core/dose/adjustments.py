"""Answers to what a client asks of a movement: easier, harder, it hurts, no kit."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType
from typing import Final

from core.client.care import is_careful
from core.client.client import KitAtHome
from core.client.steering import Trait
from core.dose.bounds import NOTICEABLY_LOWER, Bounds, safe_bounds
from core.dose.dose_model import SECONDS_PER_LEFT
from core.dose.family_record import MOST_PAIN_OF_A_GOOD_SET, PAIN_SHARE, PAIN_THAT_STOPS
from core.dose.history import Unit
from core.dose.prescribe import FELT_FEWER, build, left_target, prescribe, ranked, with_spares
from core.dose.prescription import (
    DoseChoice,
    DoseCode,
    DoseReason,
    Instead,
    Prescription,
)
from core.dose.selection import Selection
from core.dose.session import Today, at_lightest
from core.movements.ladder import LadderStep
from core.vocabulary import Spare

FELT_LOWER: Final = 0.92
"""What is called easier is at least this much lower in demand, or fewer (ours)."""

MOST_WITHOUT_KIT: Final = 1.25
"""After a sign's hold what stands in for missing kit is harder by a quarter at most (ours)."""

_CAREFUL_JOINT_STOPS = 4
"""A replaced, operated, hot or swollen joint stops sooner (pain-monitoring model, cautious)."""


def easier(today: Today, current: Prescription) -> DoseChoice:
    """Easier so that it is felt: a clearly lower step, else a lower one with fewer repetitions.

    The coach's floor does not count against a client who asks. At the lowest step the answer says
    so and what else to do; an equal demand is never called easier.
    """
    lower = _lower_steps(today, current, current.step.demand, frozenset(), FELT_LOWER)
    if lower:
        found = _exchange(today, current, lower, DoseCode.MADE_EASIER)
        clearly = lower[0].demand <= current.step.demand * FELT_LOWER * (1 + 1e-9)
        return found if clearly else _with_fewer(found, current)
    lowest = DoseReason(DoseCode.ALREADY_LOWEST)
    if current.amount > current.low:
        fewer = replace(current, amount=current.low, sets=1, reasons=(lowest,))
        return DoseChoice(fewer, lowest, Instead.FEWER_REPS)
    if current.sets > 1:
        return DoseChoice(replace(current, sets=1, reasons=(lowest,)), lowest, Instead.REST_BETWEEN)
    return DoseChoice(None, lowest, Instead.LEAVE_OUT)


def _with_fewer(found: DoseChoice, current: Prescription) -> DoseChoice:
    """A step that is hardly lower, with so much less to do that it is felt, where that can be."""
    lower = found.prescription
    if lower is None:
        return found
    fewer = math.floor(current.amount * FELT_FEWER)
    if lower.unit is current.unit and fewer >= lower.low:
        per_left = 1.0 if lower.unit is Unit.REPS else SECONDS_PER_LEFT
        amount = min(lower.amount, fewer)
        left = lower.predicted_left + (lower.amount - amount) / per_left
        less = replace(lower, amount=amount, predicted_left=left)
        return replace(found, prescription=less, instead=Instead.FEWER_REPS)
    if current.sets > 1:
        one = replace(lower, sets=1)
        return replace(found, prescription=one, instead=Instead.REST_BETWEEN)
    return found


def harder(today: Today, current: Prescription) -> DoseChoice:
    """One step up where every rule allows it and enough should stay in hand; else why not yet."""
    if today.order.ease_off:
        return DoseChoice(current, DoseReason(DoseCode.NOT_HARDER_TODAY))
    record = today.record(current.family)
    bounds = _bounds(today, current, keep_floor=True)
    above = [s for s in bounds.allowed if s.demand > current.step.demand]
    if not above:
        waiting = [
            (step.demand, reason)
            for step, reason in bounds.ruled_out
            if step.demand > current.step.demand
        ]
        if not waiting:
            return DoseChoice(current, DoseReason(DoseCode.ALREADY_HIGHEST))
        nearest = min(waiting, key=lambda entry: entry[0])[1]
        # Beside why not, the sentence says what must happen, and when to ask again.
        return DoseChoice(current, replace(nearest, numbers={**nearest.numbers, "asked": 1}))
    target = left_target(today.client, record, today.order)
    selected = ranked(today.client, above[:1], record, today.capacity, target, today.catalogue)
    if selected[0].predicted_left < target.low:
        numbers = {"left": max(0.0, selected[0].predicted_left)}
        return DoseChoice(current, DoseReason(DoseCode.TOO_HARD_TODAY, numbers))
    return _exchange(today, current, above[:1], DoseCode.MADE_HARDER, bounds)


def hurts(
    today: Today,
    current: Prescription,
    where: Spare | None,
    how_much: int,
    *,
    sharp: bool = False,
    careful_joint: bool = False,
) -> DoseChoice:
    """The pain rule for one movement. Chest pain is not for here: it starts the red-flag flow.

    Up to 2: go on and watch. 3 to 5: a step that spares the joint, at most .87 of the demand. Over
    5, from 4 in a careful joint, or sharp: the movement is over for today and the coach is told.
    Sources: Thomee 1997, Silbernagel 2007, Ageberg 2010; "sharp" is caution.

    Args:
        where: the joint, where it is one that steps can spare.
        careful_joint: a replaced, operated, hot or swollen joint.
    """
    numbers = {"pain": float(how_much)}
    stops_from = _CAREFUL_JOINT_STOPS if careful_joint else PAIN_THAT_STOPS
    if sharp or how_much >= stops_from:
        code = DoseCode.PAIN_STOP_SHARP if sharp else DoseCode.PAIN_STOP_MOVEMENT
        return DoseChoice(
            None,
            DoseReason(code, numbers),
            Instead.LEAVE_OUT,
            tell_coach=True,
        )
    if how_much <= MOST_PAIN_OF_A_GOOD_SET:
        return DoseChoice(current, DoseReason(DoseCode.PAIN_WATCH, numbers))
    spared = frozenset({where}) if where is not None else frozenset()
    limit = current.step.demand * PAIN_SHARE
    for joints, code in (
        (spared, DoseCode.PAIN_SUBSTITUTE if spared else DoseCode.PAIN_EASIER),
        (frozenset(), DoseCode.PAIN_EASIER),
    ):
        lower = _lower_steps(today, current, limit * 1.0001, joints)
        if lower:
            return _exchange(today, current, lower, code, said=numbers)
    return DoseChoice(
        None,
        DoseReason(DoseCode.PAIN_STOP_MOVEMENT, numbers),
        Instead.LEAVE_OUT,
    )


def without_kit(today: Today, current: Prescription, kit: KitAtHome) -> DoseChoice:
    """The movement with only ``kit`` at hand; none that is a lot harder after a sign's hold."""
    here = replace(today, client=replace(today.client, kit=kit))
    found = prescribe(
        here.client,
        here.painless_steps(current.family),
        here.record(current.family),
        here.capacity,
        here.order,
        here.catalogue,
    )
    if found is None or (today.lightest and _is_a_lot_harder(today, found)):
        return DoseChoice(None, DoseReason(DoseCode.NOTHING_WITHOUT_KIT), Instead.LEAVE_OUT)
    found = replace(found, sets=min(found.sets, current.sets))
    if today.lightest:
        found = at_lightest(found)
    return DoseChoice(found, DoseReason(DoseCode.KIT_SUBSTITUTE), tell_coach=found.tell_coach)


def _is_a_lot_harder(today: Today, found: Prescription) -> bool:
    """Whether it asks for much more than the easiest step with all the kit there is."""
    easiest = today.painless_steps(found.family)
    return bool(easiest) and found.step.demand > easiest[0].demand * MOST_WITHOUT_KIT


def _bounds(today: Today, current: Prescription, *, keep_floor: bool) -> Bounds:
    return safe_bounds(
        with_spares(today.client, today.order.spared),
        today.steps(current.family),
        today.record(current.family),
        ease_off=today.order.ease_off,
        careful=is_careful(today.client, today.order.cares),
        no_holds=today.order.no_holds,
        keep_floor=keep_floor,
        same_told=today.capacity.tells_always_the_same,
    )


def _lower_steps(
    today: Today,
    current: Prescription,
    demand: float,
    spared: frozenset[Spare],
    share: float = NOTICEABLY_LOWER,
) -> list[LadderStep]:
    """The best step under ``demand`` that spares the joints: clearly lower if there is one.

    Whoever has a hand on something keeps it: a free movement of less demand is no easier one.
    """
    bounds = _bounds(today, current, keep_floor=False)
    free = _is_free(today, current.step)
    below = [
        step
        for step in bounds.allowed
        if step.demand < demand * (1 - 1e-9)
        and not step.stresses & spared
        and (free or not _is_free(today, step))
    ]
    clearly = [step for step in below if step.demand <= demand * share]
    return (clearly or below)[-1:]


def _is_free(today: Today, step: LadderStep) -> bool:
    """Whether a step is done standing without a hand on anything."""
    rung = today.catalogue.by_id.get(step.rung)
    if rung is None:
        return False
    hold = step.dial.get("support", rung.dials.get("support", ("",))[0])
    return Trait.UNHELD in rung.traits or hold == "none"


def _exchange(
    today: Today,
    current: Prescription,
    steps: Sequence[LadderStep],
    code: DoseCode,
    bounds: Bounds | None = None,
    *,
    said: Mapping[str, float] = MappingProxyType({}),
) -> DoseChoice:
    """The answer with the first of ``steps``, its amount chosen anew.

    Args:
        said: numbers of the reason beside the change in percent.
    """
    record = today.record(current.family)
    target = left_target(today.client, record, today.order)
    selected: Sequence[Selection] = ranked(
        today.client, steps, record, today.capacity, target, today.catalogue
    )
    bounds = bounds or _bounds(today, current, keep_floor=False)
    built = build(today.client, selected, bounds, record, target, today.order, today.catalogue)
    percent = round(100.0 * abs(1.0 - built.step.demand / current.step.demand))
    reason = DoseReason(code, {"percent": float(percent), **said})
    built = replace(built, sets=min(built.sets, current.sets), reasons=(reason,))
    if code is not DoseCode.MADE_HARDER:
        built = _no_more_than(built, current)
    if today.lightest:
        built = at_lightest(built)
    return DoseChoice(built, reason, tell_coach=built.tell_coach)


def _no_more_than(built: Prescription, current: Prescription) -> Prescription:
    """What is meant to be easier never asks for more repetitions, or seconds, than before."""
    if built.unit is not current.unit or built.amount <= current.amount:
        return built
    per_left = 1.0 if built.unit is Unit.REPS else SECONDS_PER_LEFT
    spared = (built.amount - current.amount) / per_left
    return replace(built, amount=current.amount, predicted_left=built.predicted_left + spared)
