"""A body behind somebody who lives on the trial page: how many were truly left, whatever is told.

Truth is a log capacity a family: the first set of a family would leave ``first_left`` more. It
gains a little with each session, and the day's form varies. The client stops as told at what she
feels, a little early or late, and fails where no more is possible. Numbers from memory.
"""

import math
from dataclasses import dataclass, field
from typing import Final

import numpy as np

from core.dose.dose_model import SECONDS_PER_LEFT
from core.dose.history import Ended, Unit
from core.dose.prescription import Prescription
from core.vocabulary import Family

REPS_RATE: Final = 0.03
GAIN: Final = 0.002
DAY_SPREAD: Final = 0.035
LATER_SET: Final = 0.035
FELT_SPREAD: Final = 0.7
EARLY: Final = 0.5
OBEYS: Final = 0.93
UNWEIGHED = frozenset({Family.BALANCE, Family.GET_UP})


@dataclass(frozen=True)
class SetLived:
    """What became of one movement: amount done, how it ended, truly left (repetitions or fives)."""

    family: Family
    step_key: str
    amount: int
    planned: int
    ended: Ended
    left: int
    calibration: bool


@dataclass
class InventedBody:
    """One body; ``first_left``: how many the first set of each family truly leaves."""

    first_left: int
    seed: int = 3
    truth: dict[Family, float] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self._rng = np.random.default_rng(self.seed)
        self._form = 0.0

    def new_day(self) -> None:
        """Another session: form anew, and what training has brought."""
        self._form = float(self._rng.normal()) * DAY_SPREAD
        self.truth = {family: known + GAIN for family, known in self.truth.items()}

    def does(self, item: Prescription) -> SetLived | None:
        """The set as it goes; ``None`` of what has no strength to show."""
        if item.family in UNWEIGHED:
            return None
        grain = 1 if item.unit is Unit.REPS else int(SECONDS_PER_LEFT)
        demand = math.log(item.step.demand)
        if item.family not in self.truth:
            most_first = item.amount + grain * (self.first_left + 0.5)
            self.truth[item.family] = demand + _effort(most_first, item.unit)
        room = self.truth[item.family] + self._form - LATER_SET * (item.sets - 1) - demand
        most = _most(room, item.unit)
        felt = self._rng.normal() * FELT_SPREAD - EARLY
        obeys = self._rng.random() < OBEYS
        amount, ended = item.amount, Ended.AS_PLANNED
        for done in range(grain, item.amount + 1, grain):
            if done > most:
                amount, ended = done - grain, Ended.COULD_NOT
                break
            left = (most - done) / grain - 0.5
            if obeys and left + felt < item.stop_at_left + 0.5:
                amount, ended = done, Ended.TOLD_TO_STOP
                break
        ended = Ended.AS_PLANNED if amount >= item.amount else ended
        left = max(0, int((most - amount) / grain))
        return SetLived(
            item.family, item.step.key, amount, item.amount, ended, left, item.calibration
        )


def _effort(most: float, unit: Unit) -> float:
    return math.log1p(REPS_RATE * most) if unit is Unit.REPS else 0.5 * math.log(most / 10.0)


def _most(room: float, unit: Unit) -> float:
    if unit is Unit.REPS:
        return max(0.0, math.expm1(room) / REPS_RATE)
    return max(0.0, 10.0 * math.exp(2.0 * room))
