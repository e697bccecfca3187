"""Which steps of a ladder may be offered today, and by which rule each other one is ruled out."""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

from core.client.care import is_frail
from core.client.client import Client
from core.dose.family_record import (
    GOOD_HOLDS_FOR_A_STEP,
    GOOD_SESSIONS_FOR_A_STEP,
    FamilyRecord,
    gap_numbers,
)
from core.dose.history import Unit
from core.dose.prescription import DoseCode, DoseReason
from core.movements.ladder import LadderStep
from core.vocabulary import Aim, Family, Kit

LARGEST_RISE: Final = 1.15
LARGEST_RISE_OVER_HOLE: Final = 1.30
GOOD_SESSIONS_WITH_PLENTY: Final = 1
"""Good sessions before a step up where the last was far too light beyond doubt, or where only the
work speaks (ours)."""
FIRST_TIME_SHARE: Final = 2 / 3
"""Share of the steps, counted from the easiest, up to which a family is begun: however strong other
families show somebody to be, its form is new (ours: caution)."""
NOTICEABLY_LOWER: Final = 0.95
"""A step down is at least this much lower, where the ladder has such a step."""

_ROUNDING: Final = 1.0 + 1e-9


@dataclass(frozen=True, slots=True)
class Bounds:
    """What may be offered today.

    Attributes:
        allowed: steps that no rule excludes, easy to hard.
        ruled_out: each other step with the rule that excludes it.
        across_hole: the one step that is allowed only because the ladder has a hole below it.
        why: what keeps the top where it is, or has moved it.
    """

    allowed: tuple[LadderStep, ...]
    ruled_out: tuple[tuple[LadderStep, DoseReason], ...]
    across_hole: LadderStep | None
    why: tuple[DoseReason, ...]


@dataclass(frozen=True, slots=True)
class _Top:
    """Highest demand that the record allows, and the rule that set it."""

    demand: float
    reason: DoseReason


def safe_bounds(
    client: Client,
    steps: Sequence[LadderStep],
    record: FamilyRecord,
    *,
    ease_off: bool,
    careful: bool,
    no_holds: bool = False,
    keep_floor: bool = True,
    fewer_first: bool = False,
    same_told: bool = False,
) -> Bounds:
    """Sort a ladder into what may be offered today and what may not.

    Safety wins over the coach's floor: where nothing is left above the floor, the floor falls.

    Args:
        steps: the client's ladder of one family, easy to hard.
        ease_off: today is an ease-off day.
        careful: a condition asks for more in hand (:func:`core.client.care.is_careful`).
        no_holds: leave out held positions (pressure at 160/100 and over).
        keep_floor: whether the coach's floor counts; not when a client asks for easier, nor on an
            eased day.
        fewer_first: after two sessions at none left the step may stay, with fewer repetitions.
        same_told: what is told is always the same number, so that waiting shows nothing more.
    """
    ruled_out: list[tuple[LadderStep, DoseReason]] = []
    usable: list[LadderStep] = []
    never = never_offered(client, no_holds=no_holds)
    for step in steps:
        reason = never(step)
        if reason is None and step.further_load and record.last is None:
            # Nobody begins with more weight than the plain one.
            reason = DoseReason(DoseCode.HELD_FOR_GOOD_SESSIONS, {"sessions": 1})
        if reason is None:
            usable.append(step)
        else:
            ruled_out.append((step, reason))
    tops = _tops(
        client,
        record,
        usable,
        ease_off=ease_off,
        careful=careful,
        fewer_first=fewer_first,
        same_told=same_told,
    )
    crossing = _across_hole(record, usable, ease_off=ease_off)
    under_top: list[LadderStep] = []
    for step in usable:
        over = [top for top in tops if step.demand > top.demand * _ROUNDING]
        if over and step is not crossing:
            ruled_out.append((step, min(over, key=lambda top: top.demand).reason))
        else:
            under_top.append(step)
    floor = (
        client.limits.floors.get(steps[0].family, 0.0)
        if steps and keep_floor and not ease_off
        else 0.0
    )
    above_floor = [step for step in under_top if step.demand * _ROUNDING >= floor]
    if above_floor:
        low = DoseReason(DoseCode.UNDER_FLOOR, {"floor": floor})
        ruled_out.extend((step, low) for step in under_top if step.demand * _ROUNDING < floor)
    return Bounds(
        tuple(above_floor or under_top),
        tuple(ruled_out),
        crossing,
        tuple(top.reason for top in sorted(tops, key=lambda top: top.demand)),
    )


def never_offered(client: Client, *, no_holds: bool) -> Callable[[LadderStep], DoseReason | None]:
    """The rules that keep a step out whatever was done before: step -> reason or ``None``."""
    limits = client.limits
    protected = client.protected
    missing = frozenset(need for need in Kit if not getattr(client.kit, need.value))

    def reason_of(step: LadderStep) -> DoseReason | None:
        if step.rung in limits.forbidden or step.family in limits.skipped:
            return DoseReason(DoseCode.FORBIDDEN)
        if step.family is Family.OVERHEAD and not limits.overhead_allowed:
            return DoseReason(DoseCode.FORBIDDEN)
        if step.stresses and step.stresses & protected:
            return DoseReason(DoseCode.SPARED)
        if missing and not missing.isdisjoint(step.needs):
            return DoseReason(DoseCode.NO_KIT)
        ceiling = limits.ceilings.get(step.family)
        if ceiling is not None and step.demand > ceiling * _ROUNDING:
            return DoseReason(DoseCode.OVER_CEILING, {"ceiling": ceiling})
        if no_holds and step.unit == Unit.SECONDS and step.family is not Family.BALANCE:
            return DoseReason(DoseCode.HELD_BREATH_PRESSURE)
        return None

    return reason_of


def _tops(
    client: Client,
    record: FamilyRecord,
    usable: list[LadderStep],
    *,
    ease_off: bool,
    careful: bool,
    fewer_first: bool,
    same_told: bool,
) -> list[_Top]:
    """Every limit that the record puts on today's demand."""
    tops: list[_Top] = []
    if record.pain_limit is not None:
        tops.append(_Top(record.pain_limit, DoseReason(DoseCode.DOWN_AFTER_PAIN)))
    last = record.last
    if last is None or record.base_demand is None:
        if usable and usable[0].family is Family.GET_UP:
            # Learned part by part, the first part first, however strong somebody is.
            waits = DoseReason(
                DoseCode.HELD_FOR_GOOD_SESSIONS, {"sessions": GOOD_SESSIONS_FOR_A_STEP}
            )
            tops.append(_Top(usable[0].demand, waits))
        elif usable and not _is_set_by_coach(client, usable[0].family):
            known = [step.demand for step in usable if not step.further_load]
            highest = known[math.ceil(FIRST_TIME_SHARE * (len(known) - 1))]
            tops.append(_Top(highest, DoseReason(DoseCode.HELD_FOR_GOOD_SESSIONS, {"sessions": 1})))
        return tops
    # With a condition that asks for care once is enough; a balance hold ends by a touch.
    eases_at_once = careful and last.family is not Family.BALANCE
    if record.slipped:
        lower = _lower_than(usable, last.demand)
        code = (
            DoseCode.TOUCHED_SUPPORT if last.family is Family.BALANCE else DoseCode.DOWN_AFTER_SLIP
        )
        tops.append(_Top(lower, DoseReason(code)))
    elif record.could_not and not record.none_left_twice:
        lower = _lower_than(usable, last.demand)
        tops.append(_Top(lower, DoseReason(DoseCode.DOWN_AFTER_COULD_NOT)))
    elif record.none_left and not record.none_left_twice and eases_at_once:
        lower = _lower_than(usable, last.demand)
        tops.append(_Top(lower, DoseReason(DoseCode.DOWN_AFTER_NONE_ONCE)))
    elif record.none_left_twice and fewer_first and not (careful or record.could_not):
        tops.append(_Top(last.demand, DoseReason(DoseCode.FEWER_AFTER_NONE_LEFT)))
    elif record.none_left_twice:
        lower = _lower_than(usable, last.demand)
        tops.append(_Top(lower, DoseReason(DoseCode.DOWN_AFTER_NONE_LEFT)))
    within_reach = last.demand * LARGEST_RISE
    over_hole = not any(last.demand < step.demand <= within_reach for step in usable)
    code = DoseCode.ACROSS_HOLE if over_hole else DoseCode.STEP_TOO_LARGE
    tops.append(_Top(within_reach, DoseReason(code)))
    base = record.base_demand
    if record.bought and not ease_off:
        return tops
    if record.today:
        # One step a session: later sets stay at or under the first one.
        first = record.today[0].demand
        tops.append(_Top(first, DoseReason(DoseCode.ONE_STEP_A_SESSION)))
    if ease_off:
        tops.append(_Top(_lower_than(usable, base), DoseReason(DoseCode.EASE_OFF_DAY)))
    elif record.after_gap:
        tops.append(
            _Top(min(base, last.demand), DoseReason(DoseCode.AFTER_GAP, gap_numbers(record)))
        )
    elif record.hard_yesterday:
        tops.append(_Top(min(base, last.demand), DoseReason(DoseCode.HARD_YESTERDAY)))
    elif (half := _half_way_back(record, usable)) is not None:
        tops.append(_Top(half, DoseReason(DoseCode.WAY_BACK)))
    elif not _may_climb(client, record, careful=careful, same_told=same_told):
        missing = GOOD_SESSIONS_FOR_A_STEP - record.good_sessions
        held = DoseReason(DoseCode.HELD_FOR_GOOD_SESSIONS, {"sessions": missing})
        tops.append(_Top(base, held))
    return tops


def _half_way_back(record: FamilyRecord, usable: list[LadderStep]) -> float | None:
    """Top on the way back: with each good session half of what is missing, until no step fits."""
    base = record.base_demand
    if base is None or not record.way_back:
        return None
    half = base + record.way_back / 2.0
    if not any(base * _ROUNDING < step.demand <= half for step in usable):
        return None
    return half if record.good_sessions else base


def _may_climb(client: Client, record: FamilyRecord, *, careful: bool, same_told: bool) -> bool:
    if record.last is not None and record.last.family is Family.BALANCE:
        return record.good_holds >= GOOD_HOLDS_FOR_A_STEP
    waits = client.aim is not Aim.OPEN or _learns(record)
    # Of who always tells the same number a good session says no more the second time.
    shown = record.plenty_left or (same_told and not record.first_sessions)
    sure = shown and not (careful or _learns(record) or is_frail(client))
    enough = GOOD_SESSIONS_WITH_PLENTY if sure else GOOD_SESSIONS_FOR_A_STEP
    return not waits or record.good_sessions >= enough


def _is_set_by_coach(client: Client, family: Family) -> bool:
    """Whether the coach has said where a family begins; balance begins at its easiest anyway."""
    limits = client.limits
    return family in limits.floors or family in limits.fixed or family is Family.BALANCE


def _learns(record: FamilyRecord) -> bool:
    return record.last is not None and record.last.family is Family.GET_UP


def _lower_than(usable: list[LadderStep], demand: float) -> float:
    """Demand of the highest step noticeably under ``demand``; failing that, of any under it.

    At the lowest step there is nothing under it, and the lowest stays.
    """
    below = [step.demand for step in usable if step.demand < demand / _ROUNDING]
    clearly = [found for found in below if found <= demand * NOTICEABLY_LOWER]
    if clearly:
        return max(clearly)
    return max(below, default=usable[0].demand if usable else demand)


def _across_hole(
    record: FamilyRecord, usable: list[LadderStep], *, ease_off: bool
) -> LadderStep | None:
    """The step above a hole that the record has earned, if any.

    Earned by two full sessions in a row: the top of the range with three left.
    """
    base = record.base_demand
    if (
        base is None
        or record.last is None
        or ease_off
        or record.after_gap
        or record.hard_yesterday
        or record.slipped
        or record.none_left_twice
        or record.could_not
        or record.pain_limit is not None
        or record.today
        or record.full_sessions < GOOD_SESSIONS_FOR_A_STEP
        or record.last.demand < base / _ROUNDING
    ):
        return None
    above = [step for step in usable if step.demand > base * _ROUNDING]
    if not above or above[0].demand <= base * LARGEST_RISE * _ROUNDING:
        return None
    return above[0] if above[0].demand <= base * LARGEST_RISE_OVER_HOLE else None
