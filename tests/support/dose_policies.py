"""Ways to choose sets, for measuring ours against: a fixed rung, the 2-for-2 rule, oracles."""

import math
from collections.abc import Sequence
from datetime import date

from bot.cli.closed_loop_client import LoopClient
from core.client.client import Client
from core.dose.dose_model import STANDARD_MODEL, DoseModel
from core.movements.ladder import LadderStep
from core.readiness.morning_questions import Morning
from core.vocabulary import Aim, DayPlan, Family
from tests.support.simulated_clients import (
    Outcome,
    Person,
    Plan,
    most_reps,
    typical_start,
)


def nearest_step(ladder: Sequence[LadderStep], log_demand: float) -> int:
    """Place of the highest step not above a log demand; the lowest where all are above."""
    under = [i for i, step in enumerate(ladder) if math.log(step.demand) <= log_demand]
    return under[-1] if under else 0


class FixedRung:
    """Twelve repetitions of the step that suits a typical novice, for ever."""

    reps = 12

    def start(self, person: Person) -> None:
        """Take the step at which a typical novice has two left after twelve."""
        target = math.log1p(0.030 * (self.reps + 2.5))
        self.ladders = {f: self.main(ladder) for f, ladder in person.ladders.items()}
        self.at = {
            family: nearest_step(ladder, typical_start(person.ladders[family]) - target)
            for family, ladder in self.ladders.items()
        }

    def main(self, ladder: tuple[LadderStep, ...]) -> tuple[LadderStep, ...]:
        """The steps in use."""
        return ladder

    def morning(self, on: date, answers: Morning | None) -> bool:
        """Trains whatever the morning says."""
        return True

    def choose(self, family: Family, truth: float, set_index: int) -> Plan:
        """Always the same."""
        return Plan(self.ladders[family][self.at[family]], self.reps, None)

    def told(self, family: Family, outcome: Outcome) -> None:
        """Learns nothing."""


class TwoForTwo(FixedRung):
    """Up a step after two sessions with two or more repetitions over goal (Baechle and Earle).

    Over goal is read from the left told after the last set. Down a step when the goal is missed.
    """

    def __init__(self, *, fine: bool) -> None:
        self.fine = fine

    def main(self, ladder: tuple[LadderStep, ...]) -> tuple[LadderStep, ...]:
        """All steps, or only whole rungs."""
        return ladder if self.fine else tuple(step for step in ladder if not step.setting)

    def start(self, person: Person) -> None:
        """Start as the fixed rung does."""
        super().start(person)
        self.over = dict.fromkeys(self.at, 0)

    def told(self, family: Family, outcome: Outcome) -> None:
        """Count sessions over goal by their second set."""
        if outcome.first_of_session:
            return
        if outcome.reps < self.reps:
            self.over[family] = 0
            self.at[family] = max(0, self.at[family] - 1)
            return
        self.over[family] = self.over[family] + 1 if outcome.told_left >= 2 else 0
        if self.over[family] >= 2:
            self.over[family] = 0
            self.at[family] = min(len(self.ladders[family]) - 1, self.at[family] + 1)


class Ours:
    """Dayrung's own core, fed line by line as a closed loop would."""

    def __init__(
        self,
        aim: Aim = Aim.OPEN,
        *,
        with_readiness: bool = True,
        model: DoseModel = STANDARD_MODEL,
    ) -> None:
        self.aim = aim
        self.with_readiness = with_readiness
        self.model = model

    def start(self, person: Person) -> None:
        """A new client with nothing known."""
        client = Client(name="", birth_year=1930, aim=self.aim, floor_ok=True)
        self.loop = LoopClient(client, person.ladders, model=self.model)

    def morning(self, on: date, answers: Morning | None) -> bool:
        """Rests on rest days."""
        seen = answers if self.with_readiness else None
        return self.loop.morning(on, seen).plan is not DayPlan.REST

    def choose(self, family: Family, truth: float, set_index: int) -> Plan:
        """As the core prescribes; sets that aim at three or four left do not count for range."""
        given = self.loop.next_set(family)
        return Plan(
            given.step,
            given.amount,
            given.stop_at_left,
            given.stop_at_left == 1,
            given.left_target,
            given.calibration,
        )

    def told(self, family: Family, outcome: Outcome) -> None:
        """Log the set."""
        self.loop.set_done(
            family,
            outcome.reps,
            outcome.told_left,
            slip=outcome.slip,
            pain=outcome.pain,
            ended=outcome.told_ended,
        )


class Oracle:
    """Knows true capacity and today's offset; aims at two left, with the same limit of 15 %."""

    def start(self, person: Person) -> None:
        """Look into the client."""
        self.person = person
        self.last: dict[Family, float] = {}
        self.here: dict[Family, float] = {}
        self.sessions = 0

    def morning(self, on: date, answers: Morning | None) -> bool:
        """Trains on every day; a new day moves the limit."""
        self.last.update(self.here)
        self.here = {}
        return True

    def choose(self, family: Family, truth: float, set_index: int) -> Plan:
        """The step and repetitions that truly leave two."""
        cap = self.last.get(family, math.inf) * 1.15
        best: tuple[float, float, Plan] | None = None
        for step in self.person.ladders[family]:
            if step.demand > cap:
                break
            room = truth - math.log(step.demand) - self.person.misfit[step.key]
            possible = math.floor(most_reps(self.person.world, self.person, room))
            reps = min(20, max(8, possible - 2))
            off = abs(possible - reps - 2)
            if best is None or (off, -step.demand) < best[:2]:
                best = (off, -step.demand, Plan(step, reps, None))
        if best is None:
            best = (0.0, 0.0, Plan(self.person.ladders[family][0], 8, None))
        self.here[family] = best[2].step.demand
        return best[2]

    def told(self, family: Family, outcome: Outcome) -> None:
        """Needs no telling."""
