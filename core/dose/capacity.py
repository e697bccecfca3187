"""Latent capacity: what each family of movements could do, with uncertainty, from logged sets.

State: one log-capacity a family, correlated between families, one offset shared by all of today's
sets, and two habits of the client: how many are really left where she tells none, and where she
stops because it is time. What a set says is in :mod:`core.dose.set_reading`; a Kalman filter brings
it together. Told numbers and stops pin the sum of capacity and habit only, sets that could not be
finished and sets that the coach watched pin capacity itself, so that both together pin the habit.
The day's offset starts at what the morning made likely and is forgotten overnight. All logs are
natural; a unit of .05 is about five percent of demand.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Final

import numpy as np
from numpy.typing import NDArray

from core.dose.dose_model import GAINING_DAYS, GAP_DAYS, STANDARD_MODEL, DoseModel
from core.dose.history import MOST_LEFT_TOLD, SetDone
from core.dose.set_reading import Habits, SetReading, done_at_least, readings_of
from core.vocabulary import Family

_DAY, _TELLING, _STOPPING, _FIRST_FAMILY = 0, 1, 2, 3

SETS_COMPARED: Final = 30
"""Over so many sets what was told is held against what was expected to be told."""
MOST_DIFFERENCE: Final = 0.5
"""Repetitions by which the two may differ on average, three standard errors beside."""

SHARED_ERROR: Final = 1.5
"""Sets of one day and one family are off together: the error of their mean is half again that of
independent ones (own simulation: else words and work seem not to fit three times a client-year)."""

SETS_UNTIL_WATCHED: Final = 20
"""Sets told after which the coach is asked to watch one where nothing has shown the habit."""
UNSURE_OF_HABIT: Final = 0.8
"""Share of the first spread of a habit over which nothing has shown it."""

CAREFUL_LEFT: Final = 3
"""Who has to keep so many in hand is careful, or new."""

UNFAVOURABLE: Final = 1.28
"""Spreads at which nine of ten clients tell, or stop, more carefully."""


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
        mean: today's offset, the repetitions left when "none" is told, those left beyond the number
            stopped at, then each family's log capacity.
        spread: covariance of ``mean``.
        on: the date up to which time has passed; ``None`` before the first.
        last_done: last date of each family that was done.
        sets_told: sets with a told left in hand so far; practice makes the telling better.
        sets_today: sets of each family today.
        same_told: by the least that was to be left, the number told last and how many times in a
            row, of sets done as planned.
        surprises: told less expected to be told, with its variance, of the latest sets.
        doubted_on: when words and work last did not fit.
        unread: numbers that were the same all the time have been taken back.
    """

    families: tuple[Family, ...]
    mean: NDArray[np.float64]
    spread: NDArray[np.float64]
    model: DoseModel
    on: date | None
    last_done: Mapping[Family, date]
    sets_told: int
    sets_today: Mapping[Family, int]
    same_told: Mapping[int, tuple[int, int]] = field(default_factory=dict)
    surprises: tuple[tuple[float, float], ...] = ()
    doubted_on: date | None = None
    unread: bool = False

    def index(self, family: Family) -> int:
        """Place of the family in the arrays."""
        return self.families.index(family) + _FIRST_FAMILY

    def forecast(self, family: Family) -> Forecast:
        """What the family's next set today can draw on, fatigue included."""
        at = self.index(family)
        fatigue = self.model.set_fatigue * self.sets_today.get(family, 0)
        variance = self.spread[0, 0] + 2.0 * self.spread[0, at] + self.spread[at, at]
        likely = float(self.mean[0] + self.mean[at]) - fatigue
        return Forecast(likely, math.sqrt(float(variance)))

    def careful_forecast(self, family: Family) -> Forecast:
        """The same, for a client who tells as the unfavourable tenth of what is possible does."""
        plain = self.forecast(family)
        at = self.index(family)
        spread = self.spread
        variance = float(spread[_TELLING, _TELLING])
        if variance <= 0.0:
            return plain
        shared = float(spread[_DAY, _TELLING] + spread[at, _TELLING])
        lower = max(0.0, shared) / math.sqrt(variance) * UNFAVOURABLE
        rest = max(plain.sd**2 - shared**2 / variance, 0.25 * plain.sd**2)
        return Forecast(plain.mean - lower, math.sqrt(rest))

    def left_at_stop(self, stop_at: int) -> Forecast:
        """How many are really left where this client stops as told, in repetitions."""
        model = self.model
        likely = float(self.mean[_STOPPING]) + stop_at * self.stretch
        noise = model.stop_noise + model.left_sd_each * (stop_at - 1)
        variance = float(self.spread[_STOPPING, _STOPPING])
        return Forecast(likely, math.sqrt(variance + noise**2))

    def baseline(self, family: Family) -> Forecast:
        """Capacity on a usual day, as the coach sees it."""
        at = self.index(family)
        return Forecast(float(self.mean[at]), math.sqrt(float(self.spread[at, at])))

    @property
    def stretch(self) -> float:
        """Real repetitions left for each one told."""
        model = self.model
        practice = math.exp(-self.sets_told / model.practice_sets)
        return 1.0 + model.left_stretch + model.left_practice * practice

    @property
    def told_none_left(self) -> Forecast:
        """How many clean repetitions are really left when this client tells "none"."""
        variance = float(self.spread[_TELLING, _TELLING])
        return Forecast(float(self.mean[_TELLING]), math.sqrt(variance))

    @property
    def tells_always_the_same(self) -> bool:
        """Whether the numbers told are a habit of the thumb; "5 or more" is none."""
        return any(
            times >= self.model.always_the_same and told < MOST_LEFT_TOLD
            for told, times in self.same_told.values()
        )

    @property
    def wants_watching(self) -> bool:
        """Whether after many sets nothing has shown how this client tells, or it tells nothing."""
        unsure = self.told_none_left.sd > UNSURE_OF_HABIT * self.model.telling_sd
        return self.sets_told >= SETS_UNTIL_WATCHED and (unsure or self.tells_always_the_same)

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
    shared = model.feeling_correlation * model.telling_sd * model.stopping_sd
    spread[_TELLING, _TELLING] = model.telling_sd**2
    spread[_STOPPING, _STOPPING] = model.stopping_sd**2
    spread[_TELLING, _STOPPING] = spread[_STOPPING, _TELLING] = shared
    mean = np.array([0.0, model.left_floor, model.stop_floor, *starts.values()])
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
    for habit, first in ((_TELLING, model.telling_sd), (_STOPPING, model.stopping_sd)):
        room = max(0.0, first**2 - float(spread[habit, habit]))
        spread[habit, habit] += min(room, model.feeling_drift_sd**2 * days)
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


def after_set(capacity: Capacity, done: SetDone) -> Capacity:
    """What is believed once a set was logged. Opens its day when that was not done."""
    capacity = open_day(capacity, done.on, done.day_shift)
    if done.family not in capacity.families:
        return capacity
    if done.quick:
        return replace(capacity, last_done={**capacity.last_done, done.family: done.on})
    here = capacity.sets_today.get(done.family, 0)
    # A set that the coach watched is one of those that the client logs: the last, or the next.
    earlier = max(0, here - 1) if done.watched else here
    told = done.left is not None and not done.watched
    counted = replace(
        capacity,
        sets_today={**capacity.sets_today, done.family: here + (not done.watched)},
        last_done={**capacity.last_done, done.family: done.on},
        sets_told=capacity.sets_told + told,
        same_told=_same_told(capacity, done) if told else capacity.same_told,
    )
    counted = _taken_back(counted, done)
    habits = Habits(
        telling=float(capacity.mean[_TELLING]),
        stopping=float(capacity.mean[_STOPPING]),
        stretch=capacity.stretch,
        # One other number is not yet the end of a habit.
        tells=not (counted.tells_always_the_same or capacity.tells_always_the_same),
    )
    readings = readings_of(done, habits, capacity.model, earlier)
    if not readings:
        return counted
    known = _absorb(_compared(counted, done, readings, habits), done.family, readings)
    at_least = done_at_least(done, capacity.model, earlier)
    if at_least is not None:
        known = _absorb(known, done.family, (at_least,))
    return _doubted(_possible(known), done.on)


def _possible(capacity: Capacity) -> Capacity:
    """Whoever stops before failing had none or more left: the habit is no lower than that."""
    lowest = -capacity.stretch
    if capacity.mean[_STOPPING] >= lowest:
        return capacity
    mean = capacity.mean.copy()
    mean[_STOPPING] = lowest
    return replace(capacity, mean=mean)


def _same_told(capacity: Capacity, done: SetDone) -> Mapping[int, tuple[int, int]]:
    """With one more set counted; a set that ended short tells by its end."""
    if done.ended_short or done.left is None:
        return capacity.same_told
    before, times = capacity.same_told.get(done.lowest_good_left, (done.left, 0))
    if done.left != before:
        # Another number for the same aim: it is no habit, whatever was told for other aims.
        return {done.lowest_good_left: (done.left, 1)}
    return {**capacity.same_told, done.lowest_good_left: (done.left, times + 1)}


def _taken_back(capacity: Capacity, done: SetDone) -> Capacity:
    """Less sure of strength once, where the numbers that told of it prove a habit of the thumb.

    Only once fewer than three are aimed at: whoever has to keep three in hand, by a condition or
    being new, keeps the doses that the numbers led to.
    """
    if not capacity.tells_always_the_same:
        return replace(capacity, unread=False) if capacity.unread else capacity
    if capacity.unread or done.lowest_good_left >= CAREFUL_LEFT:
        return capacity
    model, size = capacity.model, len(capacity.families)
    spread = capacity.spread.copy()
    shared = model.start_correlation + (1.0 - model.start_correlation) * np.eye(size)
    spread[_FIRST_FAMILY:, _FIRST_FAMILY:] += model.taken_back_sd**2 * shared
    return replace(capacity, spread=spread, unread=True)


@dataclass(frozen=True, slots=True)
class _Update:
    """What one reading makes of the belief, and how well it fitted."""

    mean: NDArray[np.float64]
    spread: NDArray[np.float64]
    fit: float


def _absorb(capacity: Capacity, family: Family, readings: Sequence[SetReading]) -> Capacity:
    """Update by readings of which one is true: each by itself, then by how well it fits.

    A value goes by Kalman, a bound by matched moments, several together by matched moments too.
    """
    updates = [_update(capacity, family, reading) for reading in readings]
    if len(updates) == 1:
        return replace(capacity, mean=updates[0].mean, spread=updates[0].spread)
    weights = [
        reading.chance * update.fit for reading, update in zip(readings, updates, strict=True)
    ]
    whole = sum(weights)
    shares = [weight / whole for weight in weights] if whole > 0.0 else [1.0 / len(weights)] * 2
    mean = sum((s * one.mean for s, one in zip(shares, updates, strict=True)), 0.0 * capacity.mean)
    spread = 0.0 * capacity.spread
    for share, one in zip(shares, updates, strict=True):
        off = one.mean - mean
        spread = spread + share * (one.spread + np.multiply.outer(off, off))
    return replace(capacity, mean=mean, spread=spread)


def _expected(
    capacity: Capacity, family: Family, reading: SetReading
) -> tuple[NDArray[np.float64], float]:
    """How a reading's value goes with each part of the state, and its variance before the set."""
    at = capacity.index(family)
    spread = capacity.spread
    # The value read already holds the habits, so what is left of them enters with a minus.
    parts = (
        (_DAY, 1.0),
        (at, 1.0),
        (_TELLING, -reading.telling),
        (_STOPPING, -reading.stopping),
    )
    column = spread[:, [part for part, _ in parts]] @ np.array([weight for _, weight in parts])
    return column, float(sum(weight * column[part] for part, weight in parts))


def _update(capacity: Capacity, family: Family, reading: SetReading) -> _Update:
    column, prior_variance = _expected(capacity, family, reading)
    expected = float(capacity.mean[_DAY] + capacity.mean[capacity.index(family)])
    miss = reading.value - expected
    noise = reading.sd**2
    total = prior_variance + noise
    fit = math.exp(-0.5 * miss * miss / total) / math.sqrt(total)
    if reading.bound == 0:
        # A reading far outside is more likely a slip of the thumb than a new body.
        off = abs(miss) / math.sqrt(total)
        if off > capacity.model.surprise:
            total = prior_variance + noise * (off / capacity.model.surprise) ** 2
        shift, shrink = miss / total, 1.0 / total
    else:
        total_sd = math.sqrt(total)
        distance = reading.bound * miss / total_sd
        if distance > capacity.model.surprise:
            total_sd *= distance / capacity.model.surprise
            total, distance = total_sd**2, capacity.model.surprise
        ratio = _normal_hazard(distance)
        shift = reading.bound * ratio / total_sd
        shrink = ratio * (ratio - distance) / total
    mean = capacity.mean + column * shift
    return _Update(mean, capacity.spread - np.multiply.outer(column, column) * shrink, fit)


def _compared(
    capacity: Capacity, done: SetDone, readings: Sequence[SetReading], habits: Habits
) -> Capacity:
    """With what was told of this set held against what was expected; bounds and ends pass by."""
    reading = readings[0]
    if reading.telling <= 0.0 or reading.bound:
        return capacity
    _, variance = _expected(capacity, done.family, reading)
    expected = float(capacity.mean[_DAY] + capacity.mean[capacity.index(done.family)])
    per_told = reading.telling * habits.stretch
    difference = (reading.value - expected) / per_told
    total = (variance + reading.sd**2) / per_told**2
    kept = (*capacity.surprises, (difference, total))[-SETS_COMPARED:]
    return replace(capacity, surprises=kept)


def _doubted(capacity: Capacity, on: date) -> Capacity:
    """Less sure where words and work do not fit over the latest sets; then compared anew."""
    surprises = capacity.surprises
    if len(surprises) < SETS_COMPARED:
        return capacity
    mean = sum(difference for difference, _ in surprises) / SETS_COMPARED
    error = SHARED_ERROR * math.sqrt(sum(variance for _, variance in surprises)) / SETS_COMPARED
    if abs(mean) <= max(MOST_DIFFERENCE, 3.0 * error):
        return capacity
    spread = capacity.spread.copy()
    for habit, first in (
        (_TELLING, capacity.model.telling_sd),
        (_STOPPING, capacity.model.stopping_sd),
    ):
        spread[habit, habit] += first**2
    spread[_FIRST_FAMILY:, _FIRST_FAMILY:] += (0.5 * capacity.model.start_sd) ** 2
    return replace(capacity, spread=spread, surprises=(), doubted_on=on)


def _normal_hazard(distance: float) -> float:
    """Density over upper tail of the standard normal, finite for any argument."""
    if distance > 8.0:
        return distance + 1.0 / distance
    tail = 0.5 * math.erfc(distance / math.sqrt(2.0))
    return math.exp(-0.5 * distance * distance) / math.sqrt(2.0 * math.pi) / tail
