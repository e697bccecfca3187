"""About how long one set of each family takes a client, and what of a day to come fits its time.

The session of the day is reckoned from its own sets (:mod:`core.dose.session`); of the days to come
only the last set of a family is known, or where a first one would be.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final

from core.client.client import Client
from core.dose.history import History, Unit
from core.dose.pace import own_pace, set_seconds
from core.dose.prescribe import SECONDS_OF_HOLD, amounts_for
from core.dose.session import around_minutes
from core.movements.catalogue import Catalogue
from core.movements.ladder import LadderStep
from core.programme.session_time import minutes_of
from core.vocabulary import Family

REST_MINUTES: Final = 1.0
FIRST_STEP: Final = 1 / 3
"""So far up a ladder a first set lies, about."""


@dataclass(frozen=True, slots=True)
class SetClock:
    """How long sets take one client, from ``on`` on."""

    client: Client
    history: History
    catalogue: Catalogue
    on: date

    def minutes_of_set(self, family: Family, steps: Sequence[LadderStep]) -> float:
        """One set at this client's own pace, with the rest after it.

        Args:
            steps: the ladder, for a family that was never done; not empty.
        """
        done = self.history.of_family(family)
        if done:
            rung, amount, unit = done[-1].step_key, done[-1].amount, done[-1].unit
        else:
            step = steps[int(FIRST_STEP * len(steps))]
            rung, unit = step.rung, Unit(step.unit)
            amounts = amounts_for(self.client, step, self.catalogue)
            reps = (amounts.low, amounts.high)
            amount = sum(reps if unit is Unit.REPS else SECONDS_OF_HOLD) // 2
        seconds = set_seconds(rung.partition("@")[0], amount, unit, self.catalogue)
        return self._pace * seconds / 60.0 + REST_MINUTES

    @property
    def _pace(self) -> float:
        table = self.catalogue.steering
        around = around_minutes(self.client, table, minutes_of(self.client, table))
        return own_pace(self.history, self.catalogue, self.on, around_minutes=around)

    def what_fits(
        self, families: Sequence[Family], lasts: Mapping[Family, float], minutes: int
    ) -> tuple[Family, ...]:
        """The first of ``families`` that fit beside warm-up and cool-down; balance always stays.

        Args:
            lasts: minutes of one set of each; a family that it lacks takes none.
        """
        around = around_minutes(self.client, self.catalogue.steering, minutes)
        room = minutes - around + REST_MINUTES
        kept: list[Family] = [family for family in families if family is Family.BALANCE]
        for family in families:
            taken = sum(lasts.get(one, 0.0) for one in kept)
            if family not in kept and taken + lasts.get(family, 0.0) <= room:
                kept.append(family)
        return tuple(family for family in families if family in kept)
