"""Latent capacity: what each family of movements could do, with uncertainty, from logged sets.

State: one log-capacity a family, correlated between families, and one offset shared by all of
today's sets. Each set (demand, amount, left in hand, slip, pain) is a noisy reading of
``log demand + curve(amount + left)``. People tell too few left, less so with practice; "5 or more"
is only a lower bound; a slip means that at most one clean repetition was left; a painful set tells
nothing about strength. The day's offset starts at what the morning made likely and is forgotten
overnight. All logs are natural; a unit of .05 is about five percent of demand.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from typing import Final

import numpy as np
from numpy.typing import NDArray

from core.dose.history import MOST_LEFT_TOLD, SetDone, Unit
from core.dose.reps_curve import (
    effort_of_reps,
    effort_of_seconds,
    slope_of_reps,
    slope_of_seconds,
)
from core.vocabulary import Family

GAP_DAYS: Final = 14
GAINING_DAYS: Final = 7
"""A session's gain is spread over the days until the next, this many at most."""

SECONDS_PER_LEFT: Final = 5.0
"""For a hold, one "left in hand" stands for this many seconds."""

MOST_LEFT_OF_TIRED_SLIP: Final = 2
"""A slip with at most this many told counts as fatigue."""

PAIN_HIDES_STRENGTH: Final = 3
"""From this pain on a set says nothing about capacity (bands of Thomee 1997, Ageberg 2010)."""


@dataclass(frozen=True, slots=True)
class DoseModel:
    """The filter's constants, all in log demand unless named otherwise.

    Attributes:
        start_sd: uncertainty of a family's start value.
        start_correlation: correlation of start values between families.
        daily_sd: how far capacity may wander in a day; ``daily_correlation`` of it is shared.
        daily_gain: expected rise a day while the family is being trained.
        loss_after_gap: fall a day from two weeks without the family on.
        day_sd: day-to-day spread left after a check-in; ``unseen_day_sd`` without one.
        set_fatigue: loss from each earlier set of the family today.
        telling_sd: spread between clients of ``left_floor``, repetitions; sets ended by failing
            show which kind of client this is.
        left_floor, left_stretch, left_practice, practice_sets: real left in hand from the told
            one: ``floor + told * (1 + stretch + practice * exp(-sets / practice_sets))``.
        left_sd, left_sd_each: spread of that, repetitions, at none left and for each one told.
        stopped_short_left, stopped_short_sd: left, and its spread, where a set ended below plan
            with none told: a failed repetition, or the stop rule heeded late.
        surprise: readings further off than this many spreads are trusted less.
    """

    start_sd: float = 0.35
    start_correlation: float = 0.7
    daily_sd: float = 0.007
    daily_correlation: float = 0.5
    daily_gain: float = 0.0007
    loss_after_gap: float = 0.003
    day_sd: float = 0.040
    unseen_day_sd: float = 0.045
    set_fatigue: float = 0.035
    left_floor: float = 1.0
    telling_sd: float = 0.6
    left_stretch: float = 0.25
    left_practice: float = 0.45
    practice_sets: float = 120.0
    left_sd: float = 0.9
    left_sd_each: float = 0.25
    stopped_short_left: float = 0.3
    stopped_short_sd: float = 1.3
    surprise: float = 3.0


STANDARD_MODEL: Final = DoseModel()

_DAY, _TELLING, _FIRST_FAMILY = 0, 1, 2


@dataclass(frozen=True, slots=True)
class Forecast:
    """An expected value, in log demand, with its spread."""

    mean: float
    sd: float


@dataclass(frozen=True, slots=True, eq=False)
class Capacity:
    """What is believed of one client now. Values are replaced, never changed in place.

    Attributes:
        families: the families in the order of the arrays.
        mean: today's offset, the repetitions left when "none" is told, then each family's log
            capacity.
        spread: covariance of ``mean``.
        on: the date up to which time has passed; ``None`` before the first.
        last_done: last date of each family that was done.
        sets_told: sets with a told left in hand so far; practice makes the telling better.
        sets_today: sets of each family today.
    """

    families: tuple[Family, ...]
    mean: NDArray[np.float64]
    spread: NDArray[np.float64]
    model: DoseModel
    on: date | None
    last_done: Mapping[Family, date]
    sets_told: int
    sets_today: Mapping[Family, int]

    def index(self, family: Family) -> int:
        """Place of the family in the arrays."""
        return self.families.index(family) + _FIRST_FAMILY

    def forecast(self, family: Family) -> Forecast:
        """What the family's next set today can draw on, fatigue included."""
        at = self.index(family)
        fatigue = self.model.set_fatigue * self.sets_today.get(family, 0)
        variance = self.spread[0, 0] + 2.0 * self.spread[0, at] + self.spread[at, at]
        return Forecast(float(self.mean[0] + self.mean[at]) - fatigue, math.sqrt(float(variance)))

    def baseline(self, family: Family) -> Forecast:
        """Capacity on a usual day, as the coach sees it."""
        at = self.index(family)
        return Forecast(float(self.mean[at]), math.sqrt(float(self.spread[at, at])))

    @property
    def told_none_left(self) -> Forecast:
        """How many clean repetitions are really left when this client tells "none"."""
        return Forecast(
            float(self.mean[_TELLING]), math.sqrt(float(self.spread[_TELLING, _TELLING]))
        )

    @property
    def day_offset(self) -> float:
        """Today against baseline, log capacity, after the sets done so far."""
        return float(self.mean[0])


def starting_capacity(
    starts: Mapping[Family, float], model: DoseModel = STANDARD_MODEL
) -> Capacity:
    """Capacity before anything was logged, from a start value (log demand) for each family."""
    families = tuple(starts)
    size = len(families)
    spread = np.zeros((size + _FIRST_FAMILY, size + _FIRST_FAMILY))
    spread[_FIRST_FAMILY:, _FIRST_FAMILY:] = model.start_sd**2 * (
        model.start_correlation + (1.0 - model.start_correlation) * np.eye(size)
    )
    spread[_DAY, _DAY] = model.unseen_day_sd**2
    spread[_TELLING, _TELLING] = model.telling_sd**2
    mean = np.array([0.0, model.left_floor, *starts.values()])
    return Capacity(families, mean, spread, model, None, {}, 0, {})


def open_day(capacity: Capacity, on: date, day_shift: float | None) -> Capacity:
    """The same client on a later date: capacity has wandered, the day's offset is new.

    A date that is already open, or an earlier one, keeps what today's sets have shown.

    Args:
        day_shift: expected change of log capacity from readiness; ``None`` without a check-in.
    """
    if capacity.on is not None and on <= capacity.on:
        return capacity
    model = capacity.model
    days = 1 if capacity.on is None else (on - capacity.on).days
    mean = capacity.mean.copy()
    spread = capacity.spread.copy()
    shared = model.daily_correlation * model.daily_sd**2 * days
    own = (1.0 - model.daily_correlation) * model.daily_sd**2 * days
    spread[_FIRST_FAMILY:, _FIRST_FAMILY:] += shared
    for place, family in enumerate(capacity.families, start=_FIRST_FAMILY):
        spread[place, place] += own
        mean[place] += _drift(capacity, family, on, days)
    spread[_DAY, :] = 0.0
    spread[:, _DAY] = 0.0
    mean[_DAY] = day_shift or 0.0
    spread[_DAY, _DAY] = (model.unseen_day_sd if day_shift is None else model.day_sd) ** 2
    return replace(capacity, mean=mean, spread=spread, on=on, sets_today={})


def _drift(capacity: Capacity, family: Family, on: date, days: int) -> float:
    """Expected change of a family's log capacity over the last ``days`` days."""
    last = capacity.last_done.get(family)
    if last is None:
        return 0.0
    away = (on - last).days
    before = away - days
    losing = max(0, away - GAP_DAYS) - max(0, before - GAP_DAYS)
    gaining = min(away, GAINING_DAYS) - min(before, GAINING_DAYS)
    return capacity.model.daily_gain * gaining - capacity.model.loss_after_gap * losing


@dataclass(frozen=True, slots=True)
class _Reading:
    """A set as a reading of log capacity: a value, or only a bound."""

    value: float
    sd: float
    bound: int = 0  # 0 a value, 1 at least this, -1 at most this
    telling: float = 0.0  # change of ``value`` per repetition of the telling's floor


def after_set(capacity: Capacity, done: SetDone) -> Capacity:
    """What is believed once a set was logged. Opens its day when that was not done."""
    capacity = open_day(capacity, done.on, done.day_shift)
    if done.family not in capacity.families:
        return capacity
    earlier = capacity.sets_today.get(done.family, 0)
    counted = replace(
        capacity,
        sets_today={**capacity.sets_today, done.family: earlier + 1},
        last_done={**capacity.last_done, done.family: done.on},
        sets_told=capacity.sets_told + (done.left is not None),
    )
    reading = _read(capacity, done, earlier)
    return counted if reading is None else _absorb(counted, done.family, reading)


def _read(capacity: Capacity, done: SetDone, earlier_sets: int) -> _Reading | None:
    """The set as a reading, or ``None`` when it tells nothing about strength."""
    if done.pain >= PAIN_HIDES_STRENGTH or done.demand <= 0.0:
        return None
    model = capacity.model
    base = math.log(done.demand) + model.set_fatigue * earlier_sets
    per_left = 1.0 if done.unit is Unit.REPS else SECONDS_PER_LEFT
    half = 0.5 * per_left

    def reading(left: float, sd: float, bound: int = 0, *, told: bool = False) -> _Reading:
        amount = done.amount + half + left * per_left
        if done.unit is Unit.REPS:
            value, slope = effort_of_reps(amount), slope_of_reps(amount)
        else:
            value, slope = effort_of_seconds(amount), slope_of_seconds(amount) * per_left
        return _Reading(base + value, slope * sd, bound, slope if told else 0.0)

    if done.amount < 1:
        # Not one was possible, or the set was not begun: no more than this is known.
        return reading(0.0, model.left_sd, bound=-1) if done.left == 0 else None
    if done.left is None:
        if done.slip:
            return reading(0.5, model.left_sd)
        return reading(0.0, model.left_sd, bound=1)
    if done.left == 0 and done.planned is not None and done.amount < done.planned:
        return reading(model.stopped_short_left, model.stopped_short_sd)
    practice = math.exp(-capacity.sets_told / model.practice_sets)
    stretch = 1.0 + model.left_stretch + model.left_practice * practice
    told = min(done.left, MOST_LEFT_TOLD)
    likely = float(capacity.mean[_TELLING]) + told * stretch
    sd = model.left_sd + model.left_sd_each * told
    if done.slip:
        # With plenty in hand the form slipped for want of skill, which is no reading of strength.
        tired = told <= MOST_LEFT_OF_TIRED_SLIP
        return reading(min(likely, 1.0), model.left_sd) if tired else None
    if told >= MOST_LEFT_TOLD:
        return reading(likely - 0.5 * stretch, sd, bound=1, told=True)
    return reading(likely, sd, told=True)


def _absorb(capacity: Capacity, family: Family, reading: _Reading) -> Capacity:
    """Update by one reading: Kalman for a value, matched moments for a bound."""
    at = capacity.index(family)
    spread = capacity.spread
    # The value read already holds the telling's floor, so what is left of it enters with a minus.
    gain_column = spread[:, _DAY] + spread[:, at] - reading.telling * spread[:, _TELLING]
    prior_variance = float(
        gain_column[_DAY] + gain_column[at] - reading.telling * gain_column[_TELLING]
    )
    expected = float(capacity.mean[_DAY] + capacity.mean[at])
    miss = reading.value - expected
    noise = reading.sd**2
    total = prior_variance + noise
    if reading.bound == 0:
        # A reading far outside is more likely a slip of the thumb than a new body.
        off = abs(miss) / math.sqrt(total)
        if off > capacity.model.surprise:
            total = prior_variance + noise * (off / capacity.model.surprise) ** 2
        shift, shrink = miss / total, 1.0 / total
    else:
        total_sd = math.sqrt(total)
        distance = reading.bound * miss / total_sd
        ratio = _normal_hazard(distance)
        shift = reading.bound * ratio / total_sd
        shrink = ratio * (ratio - distance) / total
    mean = capacity.mean + gain_column * shift
    spread_now = spread - np.multiply.outer(gain_column, gain_column) * shrink
    return replace(capacity, mean=mean, spread=spread_now)


def _normal_hazard(distance: float) -> float:
    """Density over upper tail of the standard normal, finite for any argument."""
    if distance > 8.0:
        return distance + 1.0 / distance
    tail = 0.5 * math.erfc(distance / math.sqrt(2.0))
    return math.exp(-0.5 * distance * distance) / math.sqrt(2.0 * math.pi) / tail
