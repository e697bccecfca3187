"""What the morning's readiness means for doses: shift of capacity, easier day, joints to spare."""

from dataclasses import dataclass
from datetime import date
from typing import Final

from core.client.care import Care
from core.dose.gap import NO_LOSS, GapLoss
from core.readiness.readiness import Readiness
from core.vocabulary import DayPlan, Spare

SHIFT_PER_SPREAD: Final = 0.03
"""Change of log capacity for one typical spread of the morning's answers (own simulation)."""
SHIFT_WHEN_ILL: Final = -0.10

_CALF: Final = "calf"


@dataclass(frozen=True, slots=True)
class DayOrder:
    """What the morning makes of the day, as far as doses need it.

    Attributes:
        day_shift: expected change of log capacity; ``None`` without a check-in.
        gap: what the time away before today is likely to have cost.
        ease_off: nothing harder than an ease-off day.
        no_holds: no held or straining work today.
        spared: joints to spare today, beside the client's own.
        cares: what the rows of the client ask of doses, sessions and walks.
        may_calibrate: a calibration set may be done today (:mod:`core.dose.calibration`).
    """

    on: date
    day_shift: float | None = None
    gap: GapLoss = NO_LOSS
    ease_off: bool = False
    no_holds: bool = False
    spared: frozenset[Spare] = frozenset()
    may_calibrate: bool = False
    cares: frozenset[Care] = frozenset()

    @property
    def expected_shift(self) -> float | None:
        """Expected change of log capacity today, by the morning and by what a gap cost."""
        if not self.gap.lost:
            return self.day_shift
        return (self.day_shift or 0.0) - self.gap.lost


def day_order(readiness: Readiness) -> DayOrder:
    """Readiness as an order for doses. A rest day eases off whatever is done all the same."""
    places = (rule.spare_place for rule in readiness.absolute_rules if rule.spare_place is not None)
    return DayOrder(
        on=readiness.on,
        day_shift=_day_shift(readiness),
        ease_off=readiness.plan is not DayPlan.AS_PLANNED,
        no_holds=any(rule.no_holds for rule in readiness.absolute_rules),
        spared=frozenset(
            spare for place in places if (spare := _spare_at(place.value)) is not None
        ),
    )


def _day_shift(readiness: Readiness) -> float | None:
    ill = SHIFT_WHEN_ILL if readiness.ill else 0.0
    if not readiness.answered:
        return ill or None
    return SHIFT_PER_SPREAD * readiness.day_shift + ill


def _spare_at(place: str) -> Spare | None:
    """The joint to spare for a pain's place; places that are no joint spare none."""
    if place == _CALF:
        return Spare.ANKLE
    return next((spare for spare in Spare if spare.value == place), None)
