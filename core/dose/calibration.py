"""A calibration set: as many clean ones as can be, few left, to find how strong a client is.

Told numbers end at "5 or more", so that a strong client climbs a step at a time for months; and who
always tells the same number tells nothing. A set that goes on until two are left shows where that
is. It is work closer to the limit than usual, so all that could make it unsafe rules it out, what
is not known too (ours: caution throughout).
"""

from collections.abc import Iterable, Sequence
from datetime import date, timedelta
from typing import Final

from core.client.care import HARMLESS
from core.client.client import Client
from core.client.steering import Trait
from core.dose.capacity import Capacity
from core.dose.day_order import DayOrder
from core.dose.dose_model import GAP_DAYS
from core.dose.family_record import (
    GOOD_SESSIONS_FOR_A_STEP,
    PAIN_KEEPS_LOW_DAYS,
    FamilyRecord,
)
from core.dose.history import SetDone, Unit
from core.dose.selection import Amounts, predicted_left
from core.movements.catalogue import Catalogue
from core.movements.ladder import LadderStep
from core.vocabulary import Family, Medicine

MOST_REPS: Final = 20
MOST_SECONDS: Final = 45
FEWEST_REPS: Final = 8
STOP_AT_LEFT: Final = 2
STOP_AT_LEFT_WHILE_NEW: Final = 3
"""In the first six sessions."""
SESSIONS_BEFORE: Final = 2
"""Not before the third session."""
DAYS_APART: Final = 2
MOST_IN_A_WEEK: Final = 2
MOST_SORE: Final = 2
"""Soreness of the next morning, 1 the worst, up to which there is none for two weeks."""
DAYS_UNTIL_AGAIN: Final = 21

RULED_OUT_BY: Final = frozenset(
    {
        Medicine.INSULIN,
        Medicine.SULFONYLUREA,
        Medicine.GLINIDE,
        Medicine.STEROID,
        Medicine.QUINOLONE,
        Medicine.UNKNOWN,
    }
)
"""Lows of sugar, and tendons that tear."""


def calibration_day(
    client: Client,
    sets: Iterable[SetDone],
    ill_on: Iterable[date],
    on: date,
    sore_on: Iterable[date] = (),
) -> bool:
    """Whether a calibration set may be done on a day at all.

    Any operation rules it out, as its year may not be known, and so do falls that were not asked.

    Args:
        sets: all sets of all families, oldest first.
        ill_on: days on which the client told of an illness.
        sore_on: mornings with much soreness; after a calibration set they rule out another.
    """
    if client.conditions - HARMLESS or client.medicines & RULED_OUT_BY:
        return False
    if client.operated or client.falls is None or client.falls > 0:
        return False
    if any(0 <= (on - ill).days <= GAP_DAYS for ill in ill_on):
        return False
    done = list(sets)
    trained = sorted({each.on for each in done if each.on < on})
    calm = on - timedelta(days=GAP_DAYS)
    lately = [day for day in trained if day >= calm]
    if len(trained) < SESSIONS_BEFORE or not lately or not _without_gap(trained, on):
        return False
    if any(each.pain > 2 and (on - each.on).days <= PAIN_KEEPS_LOW_DAYS for each in done):
        return False
    before = sorted({each.on for each in done if each.calibration})
    lately_done = {day for day in before if (on - day).days <= GAP_DAYS}
    if any(morning - timedelta(days=1) in lately_done for morning in sore_on):
        return False
    in_a_week = [day for day in before if (on - day).days < 7]
    apart = not before or (on - before[-1]).days >= DAYS_APART
    return apart and len(in_a_week) < MOST_IN_A_WEEK


def stop_at_left(record: FamilyRecord) -> int:
    """At how many left a calibration set stops."""
    return STOP_AT_LEFT_WHILE_NEW if record.first_sessions else STOP_AT_LEFT


def _without_gap(trained: Sequence[date], on: date) -> bool:
    """Whether no gap ended within the last two weeks."""
    ends = [*trained[1:], on]
    return not any(
        (end - begin).days >= GAP_DAYS and (on - end).days <= GAP_DAYS
        for begin, end in zip(trained, ends, strict=True)
    )


def calibration_step(
    allowed: Sequence[LadderStep],
    record: FamilyRecord,
    capacity: Capacity,
    day: DayOrder,
    catalogue: Catalogue | None,
) -> LadderStep | None:
    """The step of a calibration set that is due in a family: the one done last; else ``None``."""
    last = record.last
    if last is None or not day.may_calibrate or day.ease_off or day.no_holds:
        return None
    steady = not (
        record.today
        or record.after_gap
        or record.hard_yesterday
        or record.slipped
        or record.none_left
        or record.pain_limit is not None
        or record.not_settled
        # Two sessions over goal lead to a step up, which comes first.
        or record.over_goal_sessions >= GOOD_SESSIONS_FOR_A_STEP
    )
    again = record.calibrated_on
    waited = again is None or (day.on - again).days >= DAYS_UNTIL_AGAIN
    same = capacity.tells_always_the_same and waited
    due = steady and not last.pain and (record.plenty_twice or same)
    if not due or last.family in (Family.BALANCE, Family.GET_UP):
        return None
    step = next((one for one in allowed if one.key == last.step_key), None)
    if step is None or _is_free_on_one_leg(step, catalogue):
        return None
    amounts = most_of(step)
    left = predicted_left(step.demand, amounts.low, amounts, capacity.careful_forecast(step.family))
    return step if left >= stop_at_left(record) else None


def most_of(step: LadderStep) -> Amounts:
    """The fewest and the most of a calibration set."""
    if step.unit == Unit.REPS:
        return Amounts(FEWEST_REPS, MOST_REPS, Unit.REPS)
    return Amounts(10, MOST_SECONDS, Unit.SECONDS)


def _is_free_on_one_leg(step: LadderStep, catalogue: Catalogue | None) -> bool:
    rung = catalogue.by_id.get(step.rung) if catalogue else None
    return rung is not None and {Trait.UNHELD, Trait.ONE_LEG} <= rung.traits
