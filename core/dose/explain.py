"""Why a dose is as it is: what decided, and what became of every other step, as data."""

from collections.abc import Sequence
from typing import Final

from core.client.care import is_careful
from core.client.client import Client
from core.dose.bounds import Bounds
from core.dose.day_order import DayOrder
from core.dose.family_record import FamilyRecord, gap_numbers
from core.dose.gap import GapCause
from core.dose.history import SetDone
from core.dose.prescription import Considered, DoseCode, DoseReason
from core.dose.selection import Selection
from core.movements.ladder import LadderStep
from core.vocabulary import Family

_LOW_DAY_SHIFT: Final = -0.02
_GOOD_DAY_SHIFT: Final = 0.02
_OF_A_GAP: Final = {
    GapCause.ILL: DoseCode.AFTER_ILLNESS,
    GapCause.UNKNOWN: DoseCode.AFTER_SILENCE,
}
_ROUNDS_UP: Final = 0.5
"""An expected left in hand this far under the range still rounds into it."""


def dose_reasons(
    client: Client,
    step: LadderStep,
    amount: int,
    bounds: Bounds,
    record: FamilyRecord,
    day: DayOrder,
) -> tuple[DoseReason, ...]:
    """What decided, most important first; never empty."""
    found: list[DoseReason] = []
    if client.limits.fixed.get(step.family) == step.rung:
        found.append(DoseReason(DoseCode.FIXED_BY_COACH))
    codes = {reason.code: reason for reason in bounds.why}
    last = record.last
    if step is bounds.across_hole:
        found.append(DoseReason(DoseCode.STEP_UP_HOLE))
    downs = (
        DoseCode.DOWN_AFTER_PAIN,
        DoseCode.DOWN_AFTER_SLIP,
        DoseCode.TOUCHED_SUPPORT,
        DoseCode.DOWN_AFTER_COULD_NOT,
        DoseCode.DOWN_AFTER_NONE_ONCE,
        DoseCode.FEWER_AFTER_NONE_LEFT,
        DoseCode.DOWN_AFTER_NONE_LEFT,
    )
    found.extend(codes[code] for code in downs if code in codes)
    if last is not None and step.key == last.step_key and _is_longer_hold(step, amount, last):
        found.append(DoseReason(DoseCode.HELD_STEADY))
    if day.ease_off:
        found.append(DoseReason(DoseCode.EASE_OFF_DAY))
    cause = [DoseReason(_OF_A_GAP[day.gap.cause])] if day.gap.cause in _OF_A_GAP else []
    if not record.after_gap:
        found.extend(cause)
    if record.hard_yesterday:
        found.append(DoseReason(DoseCode.HARD_YESTERDAY))
    if record.first_time:
        found.append(DoseReason(DoseCode.FIRST_TIME))
    elif record.after_gap:
        found.extend((DoseReason(DoseCode.AFTER_GAP, gap_numbers(record)), *cause))
    elif record.first_sessions:
        found.append(DoseReason(DoseCode.FIRST_SESSIONS))
    if (
        record.base_demand is not None
        and last is not None
        and step.demand > record.base_demand * 1.001
        and not record.today
        and step is not bounds.across_hole
    ):
        percent = 100.0 * (step.demand / record.base_demand - 1.0)
        found.append(DoseReason(DoseCode.STEP_UP, {"percent": round(percent)}))
    if record.plateau and last is not None and step.rung != last.step_key.partition("@")[0]:
        found.insert(0, DoseReason(DoseCode.PLATEAU))
    if DoseCode.WAY_BACK in codes and record.way_back:
        found.append(codes[DoseCode.WAY_BACK])
    if DoseCode.HELD_FOR_GOOD_SESSIONS in codes:
        found.append(codes[DoseCode.HELD_FOR_GOOD_SESSIONS])
    if is_careful(client, day.cares):
        found.append(DoseReason(DoseCode.CAREFUL_CONDITION))
    if day.day_shift is not None and day.day_shift <= _LOW_DAY_SHIFT:
        found.append(DoseReason(DoseCode.LOW_DAY))
    elif day.day_shift is not None and day.day_shift >= _GOOD_DAY_SHIFT:
        found.append(DoseReason(DoseCode.GOOD_DAY))
    if not found:
        found.append(DoseReason(DoseCode.FITS_TODAY))
    return tuple(found)


def _is_longer_hold(step: LadderStep, amount: int, last: SetDone) -> bool:
    return step.family is Family.BALANCE and last.planned is not None and amount > last.planned


def _held_back(
    allowed: Sequence[LadderStep], chosen: LadderStep, listed: set[str]
) -> list[Considered]:
    """Balance holds that no rule excludes: the harder ones wait for two steady holds."""
    return [
        Considered(
            step.key,
            step.demand,
            DoseReason(
                DoseCode.STEADY_FIRST if step.demand > chosen.demand else DoseCode.TOO_EASY_TODAY
            ),
        )
        for step in allowed
        if step.key not in listed
    ]


def considered_steps(
    choices: Sequence[Selection], bounds: Bounds, left_target: tuple[int, int]
) -> tuple[Considered, ...]:
    """Every step of the ladder with what became of it, easy to hard."""
    found: list[Considered] = []
    for place, choice in enumerate(choices):
        reason = None
        if place:
            if choice.predicted_left < left_target[0] - _ROUNDS_UP:
                reason = DoseReason(DoseCode.TOO_HARD_TODAY)
            elif choice.predicted_left > left_target[1] + 1:
                reason = DoseReason(DoseCode.TOO_EASY_TODAY)
            else:
                reason = DoseReason(DoseCode.LESS_LIKELY)
        found.append(Considered(choice.step.key, choice.step.demand, reason, choice.predicted_left))
    listed = {entry.step_key for entry in found}
    if choices:
        found.extend(_held_back(bounds.allowed, choices[0].step, listed))
        listed |= {entry.step_key for entry in found}
    found.extend(
        Considered(step.key, step.demand, reason)
        for step, reason in bounds.ruled_out
        if step.key not in listed
    )
    return tuple(sorted(found, key=lambda entry: entry.demand))
