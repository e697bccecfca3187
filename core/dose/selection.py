"""The step and amount whose forecast most likely ends with the wanted left in hand.

For each allowed step the repetitions still possible follow from the forecast of log capacity, so
the chance of ending within the range aimed at is a difference of two normal tails. The client is
told to stop when so many clean ones are left; a plan slightly too long is corrected by that, a plan
too short is not, and the weights say so.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from core.dose.capacity import Forecast
from core.dose.dose_model import SECONDS_PER_LEFT
from core.dose.history import Unit
from core.dose.reps_curve import (
    effort_of_reps,
    effort_of_seconds,
    reps_of_effort,
    seconds_of_effort,
)
from core.movements.ladder import LadderStep


@dataclass(frozen=True, slots=True)
class Weights:
    """How outcomes count against one another; the wished range counts 1.

    Attributes:
        none_left: cost of ending with none left, the stop rule heeded or not.
        short: cost of a plan that the stop rule cuts short.
        slack: by how much the expected left in hand may fall short of the range aimed at.
        same_step: bonus for the step done last, so that rungs do not swap about for nothing.
        obeyed: how often a client stops when it is time to.
    """

    none_left: float = 0.35
    short: float = 0.15
    same_step: float = 0.02
    slack: float = 0.0
    obeyed: float = 0.9


STANDARD_WEIGHTS: Final = Weights()

_HOPELESS: Final = 15.0
"""Left in hand this far from the range aimed at is not worth reckoning chances for."""
_HOPELESS_COST: Final = 0.01
_TOO_FEW_COST: Final = 1.0


@dataclass(frozen=True, slots=True)
class Amounts:
    """Range of repetitions, or seconds, to choose from; ``step`` is the finest difference."""

    low: int
    high: int
    unit: Unit

    @property
    def per_left(self) -> float:
        """Amount that one "left in hand" stands for."""
        return 1.0 if self.unit is Unit.REPS else SECONDS_PER_LEFT

    @property
    def step(self) -> int:
        """Finest difference between two plans."""
        return 1 if self.unit is Unit.REPS else int(SECONDS_PER_LEFT)


@dataclass(frozen=True, slots=True)
class Selection:
    """A step with its amount.

    Attributes:
        predicted_left: left in hand to count on, which the rules look at.
        expected_left: left in hand to expect.
        within: chance of the range aimed at.
    """

    step: LadderStep
    amount: int
    predicted_left: float
    score: float
    within: float = 0.0
    expected_left: float = 0.0


def predicted_left(demand: float, amount: int, amounts: Amounts, forecast: Forecast) -> float:
    """Expected left in hand after ``amount``; negative when it is more than can be done."""
    room = forecast.mean - math.log(demand)
    if amounts.unit is Unit.REPS:
        return reps_of_effort(room) - amount - 0.5
    return (seconds_of_effort(room) - amount) / SECONDS_PER_LEFT - 0.5


def best_amount(
    step: LadderStep,
    amounts: Amounts,
    forecast: Forecast,
    left_target: tuple[int, int],
    weights: Weights = STANDARD_WEIGHTS,
    stop: Forecast | None = None,
    careful: Forecast | None = None,
) -> Selection:
    """The amount of one step that most likely ends within ``left_target``."""
    middle = (left_target[0] + left_target[1]) / 2.0
    per_left, grain = amounts.per_left, amounts.step
    careful = careful or forecast
    at_none = predicted_left(step.demand, 0, amounts, forecast)
    surely = at_none - predicted_left(step.demand, 0, amounts, careful)
    # With no chance worth the reckoning, the nearer such step is still the better one.
    too_hard = middle - at_none + amounts.low / per_left
    if too_hard > _HOPELESS:
        left = at_none - amounts.low / per_left - surely
        return Selection(step, amounts.low, left, -_HOPELESS_COST * too_hard, 0.0, left + surely)
    too_easy = at_none - amounts.high / per_left - middle
    if too_easy > _HOPELESS:
        left = at_none - amounts.high / per_left - surely
        return Selection(step, amounts.high, left, -_HOPELESS_COST * too_easy, 0.0, left + surely)
    aimed = (at_none - middle) * per_left
    first = amounts.low + grain * round((aimed - amounts.low) / grain)
    tried = {min(max(first + shift * grain, amounts.low), amounts.high) for shift in (-2, -1, 0, 1)}
    best: Selection | None = None
    for amount in sorted(tried):
        score, within = _score(step.demand, amount, amounts, forecast, left_target, weights, stop)
        left = at_none - amount / per_left - surely
        # Where all chances are nil the nearer plan is still the better one.
        score -= 1e-3 * abs(left + surely - middle)
        if left < left_target[0] - weights.slack:
            score -= _TOO_FEW_COST * (left_target[0] - left)
        if best is None or score > best.score:
            best = Selection(step, amount, left, score, within, left + surely)
    assert best is not None  # noqa: S101 - the set of amounts is never empty
    return best


def select_rungs(
    steps: Sequence[LadderStep],
    amounts: Sequence[Amounts],
    forecast: Forecast,
    left_target: tuple[int, int],
    last_key: str | None = None,
    weights: Weights = STANDARD_WEIGHTS,
    stop: Forecast | None = None,
    careful: Forecast | None = None,
) -> tuple[Selection, ...]:
    """All steps with their best amounts, best first; of equals the easier comes first.

    Args:
        stop: left in hand where the client stops as told; ``None`` where nobody stops.
        careful: the forecast that must leave enough, and that is told of; ``forecast`` by default.
    """
    found = []
    for step, range_ in zip(steps, amounts, strict=True):
        selected = best_amount(step, range_, forecast, left_target, weights, stop, careful)
        bonus = weights.same_step * selected.within if step.key == last_key else 0.0
        found.append((-(selected.score + bonus), step.demand, selected))
    return tuple(selected for _, _, selected in sorted(found, key=lambda entry: entry[:2]))


def _score(
    demand: float,
    amount: int,
    amounts: Amounts,
    forecast: Forecast,
    left_target: tuple[int, int],
    weights: Weights,
    stop: Forecast | None,
) -> tuple[float, float]:
    """The score, and the chance of ending within the range.

    Whoever stops as told ends with the greater of two numbers: left after the plan, and left when
    it feels like time to stop; taken as independent.
    """
    low, high = left_target
    base = math.log(demand) - forecast.mean
    effort = effort_of_reps if amounts.unit is Unit.REPS else effort_of_seconds

    def under(left: float) -> float:
        """Chance that fewer than ``left`` more were possible after ``amount``."""
        reach = amount + left * amounts.per_left
        return _normal_below((base + effort(reach)) / forecast.sd)

    def stopped_under(left: float) -> float:
        return _normal_below((left - stops_at) / stop.sd) if stop else 1.0

    # Who stops early does so at any step: that is no reason for a lighter one.
    stops_at = min(stop.mean, (low + high) / 2.0) if stop else 0.0
    obeyed = weights.obeyed if stop else 0.0
    too_few, not_too_many = under(low), under(high + 1)
    # Where one is the least aimed at, fewer than one is none.
    none = too_few if low == 1 else under(1)
    stopped_none = stopped_under(1)
    stopped_few = stopped_none if low == 1 else stopped_under(low)
    within = not_too_many * (obeyed * stopped_under(high + 1) + 1.0 - obeyed)
    within -= too_few * (obeyed * stopped_few + 1.0 - obeyed)
    none_left = none * (obeyed * stopped_none + 1.0 - obeyed)
    short = under(stops_at) if stop else 0.0
    return within - weights.none_left * none_left - weights.short * short, within


def _normal_below(distance: float) -> float:
    return 0.5 * math.erfc(-distance / math.sqrt(2.0))
