"""Training load from effort and minutes: week, monotony, strain, weighted averages, jump.

Session load is effort on the session scale times minutes (Foster 1998, 2001). Monotony and strain
follow Foster 1998 with the population standard deviation, which gives the higher, more careful
monotony. Weighted averages follow Williams 2017.

There is no acute:chronic verdict here on purpose. Impellizzeri 2020 showed that the ratio keeps its
association with injury when the chronic load is replaced by random numbers, so that the ratio
itself predicts nothing; a rise from week to week is shown to the coach as a question, not a gate.
"""

import math
from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from statistics import fmean, pstdev

from core.errors import OutOfRangeError
from core.readiness.scales import SESSION_SCALES, EffortRating

DAYS_IN_WEEK = 7
MOST_MONOTONOUS = 20.0
"""Monotony of a week of equal days (spread zero), and the most that is ever reported."""


def session_load(effort: EffortRating, minutes: float) -> float:
    """Load of one session in arbitrary units; raises OutOfRangeError for another effort scale."""
    if effort.scale not in SESSION_SCALES:
        raise OutOfRangeError(f"session load needs a session scale, not {effort.scale}")
    if not (0 <= minutes < math.inf):
        raise OutOfRangeError(f"{minutes} minutes")
    return effort.value * minutes


def week_load(days: Sequence[float]) -> float:
    """Sum of seven daily loads; a rest day counts 0."""
    return sum(_week(days))


def monotony(days: Sequence[float]) -> float:
    """Mean of seven daily loads over their spread; 0 for an empty week."""
    mean, spread = fmean(_week(days)), pstdev(days)
    if mean == 0:
        return 0.0
    return MOST_MONOTONOUS if spread == 0 else min(MOST_MONOTONOUS, mean / spread)


def strain(days: Sequence[float]) -> float:
    """Week load times monotony."""
    return week_load(days) * monotony(days)


def _week(days: Sequence[float]) -> Sequence[float]:
    if len(days) != DAYS_IN_WEEK:
        raise OutOfRangeError(f"a week has seven days, not {len(days)}")
    return days


def week_jump(this_week: float, last_week: float) -> float | None:
    """Change from last week as a share of it; ``None`` after a week without load."""
    return None if last_week <= 0 else (this_week - last_week) / last_week


def daily_loads(by_day: Mapping[date, float], last: date, count: int) -> list[float]:
    """Loads of the ``count`` days up to ``last``, oldest first; days not named count 0."""
    first = last - timedelta(days=count - 1)
    return [by_day.get(first + timedelta(days=offset), 0.0) for offset in range(count)]
