"""What one set says of strength, and of how its client feels and tells.

Four kinds of end say different things:

- as planned: the told number, short of the truth by this client's own habit of telling;
- stopped as told: the number told to stop at, off by her habit of stopping, which is another one.
  What she tells after it is the same feeling once more and not read again;
- could not go on: all that was possible, whatever anybody felt;
- watched by the coach: what the coach saw, whatever anybody felt.

Who always tells the same number tells nothing: then only ends count, and that she did not stop.

Told numbers and stops only show the sum of strength and habit: a client who tells one too many and
a weaker one who tells the truth say the same. Only sets that could not be finished and sets that
were watched part the two. Days, sets of the same day and other families show strength's changes.
Where nobody asked why a set ended short, both readings stand beside each other with their chances.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Final

from core.dose.dose_model import SECONDS_PER_LEFT, DoseModel
from core.dose.history import MOST_LEFT_TOLD, Ended, SetDone, Unit
from core.dose.reps_curve import (
    effort_of_reps,
    effort_of_seconds,
    slope_of_reps,
    slope_of_seconds,
)

MOST_LEFT_OF_TIRED_SLIP: Final = 2
"""A slip with at most this many told counts as fatigue."""

HALF: Final = 0.5
"""The last repetition that was possible lies half a one before the first that was not."""

PAIN_HIDES_STRENGTH: Final = 3
"""From this pain on a set says nothing about capacity (bands of Thomee 1997, Ageberg 2010)."""


@dataclass(frozen=True, slots=True)
class Habits:
    """How a client feels and tells, as believed now.

    Attributes:
        telling: repetitions really left where "none" is told.
        stopping: repetitions really left beyond the number stopped at.
        stretch: real repetitions for each one told.
        tells: whether what is told says anything; not where it is always the same number.
    """

    telling: float
    stopping: float
    stretch: float
    tells: bool = True


@dataclass(frozen=True, slots=True)
class SetReading:
    """A set as a reading of log capacity: a value, or only a bound.

    Attributes:
        bound: 0 a value, 1 at least this, -1 at most this.
        telling, stopping: change of ``value`` per repetition of either habit.
        chance: how likely this is what happened, before its value is looked at.
    """

    value: float
    sd: float
    bound: int = 0
    telling: float = 0.0
    stopping: float = 0.0
    chance: float = 1.0


def readings_of(
    done: SetDone, habits: Habits, model: DoseModel, earlier_sets: int
) -> tuple[SetReading, ...]:
    """The set as readings of which one is true; none when it tells nothing about strength.

    Args:
        earlier_sets: sets of the family before it today.
    """
    if done.pain >= PAIN_HIDES_STRENGTH or done.demand <= 0.0:
        return ()
    at = _Amount(done, model.set_fatigue * earlier_sets)
    if done.watched:
        left = done.left if done.left is not None else 0
        most = done.left is not None and done.left >= MOST_LEFT_TOLD
        return (at.reading(left, model.watched_sd, bound=int(most)),)
    if done.amount < 1:
        # Not one was possible, or the set was not begun: no more than this is known.
        return (at.reading(0.0, model.left_sd, bound=-1),) if done.left == 0 else ()
    if done.ended is Ended.COULD_NOT:
        return (at.reading(0.0, model.could_not_sd),)
    if done.calibration and done.ended_short and done.ended is None:
        stopped = _stopped(done, at, habits, model, model.stops_in_calibration)
        failed = at.reading(0.0, model.could_not_sd, chance=1.0 - model.stops_in_calibration)
        return (stopped, failed)
    if done.ended is Ended.TOLD_TO_STOP and done.ended_short:
        return (_stopped(done, at, habits, model),)
    if done.left is None:
        return (at.reading(0.5, model.left_sd) if done.slip else at.reading(0, model.left_sd, 1),)
    if done.left == 0 and done.ended_short:
        if done.ended is Ended.OTHER:
            return (at.reading(0.0, model.left_sd, bound=1),)
        if done.ended is None:
            stopped = _stopped(done, at, habits, model, model.stops_when_short)
            failed = at.reading(0.0, model.could_not_sd, chance=1.0 - model.stops_when_short)
            return (stopped, failed)
    return _told(done, at, habits, model)


def done_at_least(done: SetDone, model: DoseModel, earlier_sets: int) -> SetReading | None:
    """What was done was possible, whatever anybody felt: a bound that no habit touches.

    One says next to nothing; many without one that failed say that little is told too much.
    ``None`` where the set failed or says nothing of strength.
    """
    failed = done.ended is Ended.COULD_NOT or done.slip or done.watched
    if failed or done.amount < 1 or done.pain >= PAIN_HIDES_STRENGTH or done.demand <= 0.0:
        return None
    if done.left == 0 and done.ended_short and done.ended is None:
        return None
    at = _Amount(done, model.set_fatigue * earlier_sets)
    return at.reading(-HALF, model.done_sd, bound=1)


def _stopped(
    done: SetDone, at: "_Amount", habits: Habits, model: DoseModel, chance: float = 1.0
) -> SetReading:
    likely = habits.stopping + done.stop_at_left * habits.stretch
    sd = model.stop_noise + model.left_sd_each * (done.stop_at_left - 1)
    return at.reading(likely, sd, habit="stopping", chance=chance)


def _told(done: SetDone, at: "_Amount", habits: Habits, model: DoseModel) -> tuple[SetReading, ...]:
    if not habits.tells and not done.slip:
        # Done to the end, so that it was not yet time to stop: that much she does feel.
        return (replace(_stopped(done, at, habits, model), bound=1),)
    told = min(done.left or 0, MOST_LEFT_TOLD)
    likely = habits.telling + told * habits.stretch
    sd = model.left_sd + model.left_sd_each * told
    if done.slip:
        # With plenty in hand the form slipped for want of skill, which is no reading of strength.
        tired = told <= MOST_LEFT_OF_TIRED_SLIP
        return (at.reading(min(likely, 1.0), model.left_sd),) if tired else ()
    if told >= MOST_LEFT_TOLD:
        return (at.reading(likely - 0.5 * habits.stretch, sd, bound=1, habit="telling"),)
    return (at.reading(likely, sd, habit="telling"),)


class _Amount:
    """Where a set stands on the curve from demand to repetitions, or seconds."""

    def __init__(self, done: SetDone, fatigue: float) -> None:
        self._base = math.log(done.demand) + fatigue
        self._reps = done.unit is Unit.REPS
        self._per_left = 1.0 if self._reps else SECONDS_PER_LEFT
        # Half a repetition more is between the last done and the next.
        self._amount = done.amount + HALF * self._per_left

    def reading(
        self, left: float, sd: float, bound: int = 0, *, habit: str = "", chance: float = 1.0
    ) -> SetReading:
        """The reading at so many left, with its spread in repetitions."""
        amount = self._amount + left * self._per_left
        if self._reps:
            value, slope = effort_of_reps(amount), slope_of_reps(amount)
        else:
            value, slope = effort_of_seconds(amount), slope_of_seconds(amount) * self._per_left
        slopes: Mapping[str, float] = {habit: slope} if habit else {}
        return SetReading(self._base + value, slope * sd, bound, **slopes, chance=chance)
