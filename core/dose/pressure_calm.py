"""High pressure alone that has been calm for long: when a coach may let less stay in hand.

Twelve weeks of training, three readings in four weeks and all of them under 140/90, and no changed
pill in that time (ours; a clinician has yet to sign it). Then two or three stay in hand, not none.
"""

from collections.abc import Sequence, Set
from dataclasses import dataclass
from datetime import date, timedelta

from core.client.care import Care
from core.client.client import Client

TRAINED_FOR = timedelta(weeks=12)
READ_WITHIN = timedelta(weeks=4)
LEAST_READINGS = 3
UNDER = (140, 90)
"""mmHg, top and bottom."""


@dataclass(frozen=True, slots=True)
class PressureReading:
    """A resting pressure, mmHg."""

    on: date
    systolic: int
    diastolic: int


def may_leave_less(
    client: Client,
    cares: Set[Care],
    first_session: date | None,
    readings: Sequence[PressureReading],
    on: date,
) -> bool:
    """Whether the coach may be offered the tap.

    Args:
        cares: what the rows of this client ask (:func:`core.client.steering.cares_of`).
        first_session: the first day with a set; None before it.
        readings: those of the last weeks, any order.
    """
    if Care.IN_HAND in cares or Care.IN_HAND_UNTIL_CALM not in cares:
        return False
    changed = client.medicine_changed_on
    if first_session is None or on - first_session < TRAINED_FOR:
        return False
    if changed is not None and on - changed < TRAINED_FOR:
        return False
    recent = [one for one in readings if timedelta(0) <= on - one.on <= READ_WITHIN]
    calm = all(one.systolic < UNDER[0] and one.diastolic < UNDER[1] for one in recent)
    return calm and len(recent) >= LEAST_READINGS
