"""Is this client doing too much? Signs together over days, never one number alone.

Wellbeing against the own baseline (the baseline trails by a week, so that a bad stretch cannot hide
itself), the week's load against the own last weeks, and repetitions below what was predicted. That
no single marker suffices is the consensus of Meeusen 2013 (ECSS and ACSM). An alarm needs two days
in a row and is followed by two quiet weeks. What lasts two weeks is, in this client group, a
question for a doctor before it is one of training.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum

from core.load.training_load import DAYS_IN_WEEK, daily_loads
from core.readiness.baseline import shortfalls
from core.readiness.morning_questions import Morning
from core.readiness.reasons import DayReason, DayReasonCode
from core.vocabulary import DayPlan

ALARM_ABOVE = 0.79
"""Rings twice a year for a client who never does too much (invented clients)."""
WATCH_ABOVE = 0.60
QUIET_DAYS = 14
LASTING_ABOVE = 0.52
"""Line of wellbeing alone for what lasts two weeks: lower than the watch, as no load adds to it."""
_LASTING_DAYS, _LASTING_SHARE = 14, 0.75

_BASELINE_TRAILS_DAYS = 7
_WELLBEING_SPAN, _PREDICTION_SPAN = 5, 7
# Each client's answers swing by another amount; here, unlike for one day, evening this out finds
# more. Starts at the typical swing, worth five days; one strange day cannot stretch it.
_TYPICAL_SWING, _SWING_DAYS, _SWING_MEMORY = 0.4, 5, 60
_LEAST_SWING, _MOST_POINTS = 0.25, 1.2
_DAYS_LEFT_OUT_AFTER_ILLNESS = 5
# At most 0.55 together: a harder week that feels fine never rings by itself.
_LOAD_SHARE, _MOST_LOAD = 1.1, 0.5
# Loads are effort x minutes; this keeps a small base from making a small week look large.
_LOAD_FLOOR = 600.0
_BASE_DAYS, _FEWEST_BASE_DAYS = 28, 14
_PREDICTION_SHARE, _PREDICTION_RANGE = 0.16, (-2.0, 4.0)


class OverloadLevel(StrEnum):
    """What the watch says today."""

    NONE = "none"
    WATCH = "watch"
    DAY_OFF = "day_off"
    SEE_DOCTOR = "see_doctor"


@dataclass(frozen=True, slots=True)
class OverloadDay:
    """One day's signs.

    Attributes:
        wellbeing: weighted points below the trailing baseline, in the client's own swing.
        load: the load's part, from the week against the four before.
        prediction: the part of repetitions below prediction.
        left_out: ill, or within five days after: the answers speak of the illness.
    """

    on: date
    wellbeing: float
    load: float
    prediction: float
    left_out: bool

    @property
    def value(self) -> float:
        """The signs together."""
        return self.wellbeing + self.load + self.prediction


@dataclass(frozen=True, slots=True)
class Overload:
    """Today's judgement, with what moved it.

    Attributes:
        plan: the hardest day that is still allowed: rest on a day off, ease off until a doctor has
            been asked.
    """

    level: OverloadLevel
    plan: DayPlan
    value: float
    reasons: tuple[DayReason, ...]


@dataclass(slots=True)
class _Swing:
    """How far a client's ordinary days lie from the baseline: a slow mean of squares."""

    square: float = _TYPICAL_SWING**2
    days: int = _SWING_DAYS

    def scale(self) -> float:
        """Factor that turns this client's points into those of a typical client."""
        return _TYPICAL_SWING / max(_LEAST_SWING, math.sqrt(self.square))

    def learn(self, points: float) -> None:
        """Take in one ordinary day."""
        self.days += 1
        known = min(self.days, _SWING_MEMORY)
        self.square += (min(abs(points), _MOST_POINTS) ** 2 - self.square) / known


def overload_days(
    history: Sequence[Morning],
    loads: Mapping[date, float],
    until: date,
    below_prediction: Mapping[date, float] | None = None,
) -> list[OverloadDay]:
    """The signs of each day from the first morning to ``until``.

    Args:
        loads: effort x minutes by day, other activity included; days not named count 0.
        below_prediction: predicted minus observed offset of a day's sets, in typical spreads;
            without it this sign is 0.
    """
    missed = below_prediction or {}
    days: list[OverloadDay] = []
    wellbeing = prediction = 0.0
    left_out_until: date | None = None
    first_load = min(loads, default=until)
    swing = _Swing()
    for day in shortfalls(history, until, lag=_BASELINE_TRAILS_DAYS):
        if day.ill:
            left_out_until = day.on + timedelta(days=_DAYS_LEFT_OUT_AFTER_ILLNESS)
        left_out = left_out_until is not None and day.on <= left_out_until
        if day.answered and not left_out:
            scaled = swing.scale() * day.items_only
            wellbeing += (scaled - wellbeing) * 2 / (_WELLBEING_SPAN + 1)
            swing.learn(day.items_only)
        if day.on in missed and not left_out:
            low, high = _PREDICTION_RANGE
            prediction += (missed[day.on] - prediction) * 2 / (_PREDICTION_SPAN + 1)
            prediction = max(low, min(high, prediction))
        days.append(
            OverloadDay(
                on=day.on,
                wellbeing=wellbeing,
                load=_load_part(loads, day.on, first_load),
                prediction=_PREDICTION_SHARE * prediction,
                left_out=left_out,
            )
        )
    return days


def _load_part(loads: Mapping[date, float], on: date, first_load: date) -> float:
    """The week's load against the mean week of the four weeks before it."""
    known = min(_BASE_DAYS, (on - first_load).days + 1 - DAYS_IN_WEEK)
    if known < _FEWEST_BASE_DAYS:
        return 0.0
    week = sum(daily_loads(loads, on, DAYS_IN_WEEK))
    before = daily_loads(loads, on - timedelta(days=DAYS_IN_WEEK), known)
    base = sum(before) / known * DAYS_IN_WEEK
    rise = math.log((week + _LOAD_FLOOR) / (base + _LOAD_FLOOR))
    return _LOAD_SHARE * max(0.0, min(_MOST_LOAD, rise))


def judge_overload(
    days: Sequence[OverloadDay],
    last_alarm: date | None = None,
    last_doctor: date | None = None,
) -> Overload:
    """The judgement of the last of ``days``.

    Args:
        last_alarm: when the client was last told to take a day off, if ever.
        last_doctor: when the client was last told to talk to the doctor, if ever.
    """
    if not days:
        return Overload(OverloadLevel.NONE, DayPlan.AS_PLANNED, 0.0, ())
    today = days[-1]
    level = _level(days, last_alarm, last_doctor)
    code = _CODES.get(level)
    numbers = {
        "wellbeing": today.wellbeing,
        "load": today.load,
        "prediction": today.prediction,
    }
    reasons = () if code is None else (DayReason(code, numbers, today.value),)
    return Overload(level, _PLANS.get(level, DayPlan.AS_PLANNED), today.value, reasons)


_CODES = {
    OverloadLevel.WATCH: DayReasonCode.OVERLOAD_WATCH,
    OverloadLevel.DAY_OFF: DayReasonCode.OVERLOAD_DAY_OFF,
    OverloadLevel.SEE_DOCTOR: DayReasonCode.OVERLOAD_SEE_DOCTOR,
}
_PLANS = {OverloadLevel.DAY_OFF: DayPlan.REST, OverloadLevel.SEE_DOCTOR: DayPlan.EASE_OFF}


def _level(
    days: Sequence[OverloadDay], last_alarm: date | None, last_doctor: date | None
) -> OverloadLevel:
    today = days[-1]
    if _lasts(days) and not _is_quiet(last_doctor, today.on):
        return OverloadLevel.SEE_DOCTOR
    if today.left_out or today.value <= WATCH_ABOVE:
        return OverloadLevel.NONE
    two_days = len(days) > 1 and all(
        day.value > ALARM_ABOVE and not day.left_out for day in days[-2:]
    )
    rings = two_days and not _is_quiet(last_alarm, today.on)
    return OverloadLevel.DAY_OFF if rings else OverloadLevel.WATCH


def _is_quiet(last_said: date | None, on: date) -> bool:
    """Whether the same was said within the last two weeks."""
    return last_said is not None and (on - last_said).days < QUIET_DAYS


def _lasts(days: Sequence[OverloadDay]) -> bool:
    """Whether wellbeing alone has been over its own line for most of two weeks, today too.

    Load is left out: a busy fortnight that feels fine needs no doctor.
    """
    stretch = days[-_LASTING_DAYS:]
    low = [day.wellbeing > LASTING_ABOVE for day in stretch]
    return len(stretch) == _LASTING_DAYS and low[-1] and sum(low) / len(low) >= _LASTING_SHARE
