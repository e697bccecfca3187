"""One client of a closed loop: mornings, next set, set done; state kept between lines, no I/O.

What a chat keeps in a store is kept here in memory, so that any simulator can drive the core. Days
go by the mornings; for a caller who never sends one, each session is two days after the last.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date, timedelta
from itertools import chain
from typing import Final

from core.client.client import Client
from core.client.steering import cares_of
from core.dose.calibration import MOST_SORE, calibration_day
from core.dose.capacity import Capacity, after_set, open_day, starting_capacity
from core.dose.day_order import DayOrder, day_order
from core.dose.dose_model import STANDARD_MODEL, DoseModel
from core.dose.family_record import family_record
from core.dose.gap import NO_LOSS, GapLoss, gap_loss
from core.dose.history import Ended, SetDone
from core.dose.prescribe import forced_lowest, prescribe
from core.dose.prescription import Prescription
from core.dose.prior import DOSED, first_guess
from core.movements.catalogue import Catalogue
from core.movements.ladder import LadderStep
from core.readiness.morning_questions import Morning
from core.readiness.readiness import Readiness, assess
from core.vocabulary import Family

FIRST_DAY: Final = date(2000, 1, 1)
DAYS_WITHOUT_MORNING: Final = 2
MORNINGS_KEPT: Final = 60
"""Mornings looked back on; the usual hardly remembers earlier ones."""


class LoopClient:
    """A client in a closed loop.

    Attributes:
        client: who trains.
        wanted: the families asked for, also those without a ladder.
        capacity: what is believed now.
    """

    def __init__(
        self,
        client: Client,
        ladders: Mapping[Family, Sequence[LadderStep]],
        catalogue: Catalogue | None = None,
        *,
        wanted: Sequence[Family] = (),
        start_year: int = FIRST_DAY.year,
        model: DoseModel = STANDARD_MODEL,
    ) -> None:
        self.client = client
        self.wanted = tuple(wanted) or tuple(ladders)
        self._ladders = ladders
        self._catalogue = catalogue
        self._cares = cares_of(client, catalogue.steering) if catalogue is not None else frozenset()
        starts: dict[Family, float] = {
            family: first_guess(client, tuple(steps), start_year)
            for family, steps in ladders.items()
            if family in DOSED and steps
        }
        self.capacity: Capacity = starting_capacity(starts, model)
        self._on: date | None = None
        self._order = DayOrder(FIRST_DAY)
        self._ended = False
        self._has_mornings = False
        self._mornings: list[Morning] = []
        self._ill_on: list[date] = []
        # What a caller does not say of falls is taken as none; a chat asks.
        self._told = client if client.falls is not None else replace(client, falls=0)
        self._sets: dict[Family, list[SetDone]] = {}
        self._days_trained: list[date] = []
        self._given: dict[Family, Prescription] = {}

    @property
    def on(self) -> date | None:
        """The day that is open; ``None`` before the first morning or set."""
        return self._on

    def families(self) -> tuple[Family, ...]:
        """The families that this client trains."""
        return tuple(self._ladders)

    def morning(self, on: date, answers: Morning | None) -> Readiness:
        """Open a day with its check-in, or without one, and judge it."""
        self._has_mornings = True
        readiness = assess(self._mornings, answers, self.client, on=on)
        if answers is not None:
            self._mornings.append(answers)
            del self._mornings[:-MORNINGS_KEPT]
        if readiness.ill:
            self._ill_on.append(on)
        self.open_day(day_order(readiness))
        return readiness

    def open_day(self, order: DayOrder) -> None:
        """Begin a day as ordered; what was given before is forgotten."""
        self._on = order.on
        done = sorted(chain.from_iterable(self._sets.values()), key=lambda one: one.on)
        sore = (one.on for one in self._mornings if (one.soreness or MOST_SORE + 1) <= MOST_SORE)
        may = calibration_day(self._told, done, self._ill_on, order.on, sore)
        self._order = replace(
            order, may_calibrate=may, cares=self._cares or order.cares, gap=self._gap(order.on)
        )
        self._ended = False
        self._given.clear()
        self.capacity = open_day(self.capacity, order.on, self._order.expected_shift)

    def _gap(self, on: date) -> GapLoss:
        """What the time away cost; without any mornings nothing is known of days between."""
        if not self._has_mornings:
            return NO_LOSS
        trained = [day for day in self._days_trained if day < on]
        well = {one.on for one in self._mornings if not one.is_ill}
        return gap_loss(trained, on, ill_on=self._ill_on, well_on=well)

    def next_set(self, family: Family) -> Prescription:
        """What to do in the family's next set today; the easiest step where nothing is allowed."""
        on = self._day_open()
        before = len(self._days_trained) - (on in self._days_trained[-1:])
        record = family_record(self._sets.get(family, ()), (), before, on)
        steps = self._ladders[family]
        found = prescribe(
            self.client,
            steps,
            record,
            self.capacity,
            self._order,
            self._catalogue,
            explain=False,
        )
        if found is None:
            found = forced_lowest(self.client, steps, self._order, self._catalogue)
        self._given[family] = found
        if found.calibration:
            # One family a session.
            self._order = replace(self._order, may_calibrate=False)
        return found

    def _day_open(self) -> date:
        """Today; without any mornings, a new day once the last session has ended."""
        if self._on is None:
            self.open_day(DayOrder(FIRST_DAY))
        elif self._ended and not self._has_mornings:
            self.open_day(DayOrder(self._on + timedelta(days=DAYS_WITHOUT_MORNING)))
        return self._order.on

    def given(self, family: Family) -> Prescription | None:
        """What was last given for the family today."""
        return self._given.get(family)

    def set_done(
        self,
        family: Family,
        amount: int,
        left: int | None,
        *,
        slip: bool,
        pain: int,
        ended: Ended | None = None,
    ) -> None:
        """Record a set of what was last given for the family."""
        given = self._given.get(family) or self.next_set(family)
        on = self._day_open()
        done = given.done(on, amount, left, slip=slip, pain=pain, ended=ended)
        self._sets.setdefault(family, []).append(done)
        if self._days_trained[-1:] != [on]:
            self._days_trained.append(on)
        self.capacity = after_set(self.capacity, done)

    def end(self) -> None:
        """The session is over."""
        self._ended = self._on is not None
