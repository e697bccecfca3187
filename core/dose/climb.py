"""How a client's capacity in one family went over time, with its uncertainty.

For the coach's eyes: the beliefs that doses were chosen by, worked out again from the record.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final

from core.dose.capacity import Capacity, Forecast, after_set, open_day
from core.dose.dose_model import SECONDS_PER_LEFT
from core.dose.history import SetDone, Unit, by_day
from core.dose.reps_curve import (
    effort_of_reps,
    effort_of_seconds,
    reps_of_effort,
    seconds_of_effort,
)
from core.vocabulary import Family

LIKELY_SPREADS: Final = 1.28
"""A range of so many spreads to each side holds eight times in ten (normal distribution)."""


@dataclass(frozen=True, slots=True)
class CapacityOn:
    """What was believed of a family at the end of a day.

    Attributes:
        baseline: log capacity on a usual day.
        done: the highest demand done that day; ``None`` on a day without.
    """

    on: date
    baseline: Forecast
    done: float | None


def climb_of(
    start: Capacity, sets: Sequence[SetDone], family: Family, today: date
) -> tuple[CapacityOn, ...]:
    """The days on which a family was done, oldest first, and today.

    Args:
        start: capacity before the first set.
        sets: all sets of all families, oldest first: they tell of one another.
    """
    return climbs_of(start, sets, today).get(family, ())


def climbs_of(
    start: Capacity, sets: Sequence[SetDone], today: date
) -> dict[Family, tuple[CapacityOn, ...]]:
    """The same of every family that was done and has a capacity."""
    capacity = start
    found: dict[Family, list[CapacityOn]] = {}
    for day in by_day(tuple(sets)):
        for done in day:
            capacity = after_set(capacity, done)
        for family in dict.fromkeys(done.family for done in day):
            if family in capacity.families:
                most = max(done.demand for done in day if done.family is family)
                line = found.setdefault(family, [])
                line.append(CapacityOn(day[0].on, capacity.baseline(family), most))
    later = open_day(capacity, today, None) if found else capacity
    for family, line in found.items():
        if line[-1].on < today:
            line.append(CapacityOn(today, later.baseline(family), None))
    return {family: tuple(line) for family, line in found.items()}


def demand_at(log_capacity: float, amount: float, left: float, unit: Unit) -> float:
    """The demand at which so many can be done with ``left`` clean ones (blocks of five seconds) in
    hand; in the family's own unit.
    """
    if unit is Unit.SECONDS:
        return math.exp(log_capacity - effort_of_seconds(amount + left * SECONDS_PER_LEFT))
    return math.exp(log_capacity - effort_of_reps(amount + left))


def most_at(log_capacity: float, demand: float, unit: Unit) -> int:
    """Most clean repetitions, or seconds, that a demand allows; 0 when it allows none."""
    room = log_capacity - math.log(demand)
    most = seconds_of_effort(room) if unit is Unit.SECONDS else reps_of_effort(room)
    return max(0, math.floor(most))


def likely_range(forecast: Forecast) -> tuple[float, float]:
    """Ends of the range in which log capacity lies eight times in ten."""
    reach = LIKELY_SPREADS * forecast.sd
    return forecast.mean - reach, forecast.mean + reach
