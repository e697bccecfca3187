"""Before a home test: who should rather not do it, who needs somebody near, what can be true.

The tests themselves and their norms are in :mod:`core.client.home_tests`.
"""

from collections.abc import Mapping
from datetime import date, timedelta
from enum import StrEnum

from core.client.client import Client
from core.client.home_tests import HomeTest
from core.vocabulary import Condition, Spare


class RatherNot(StrEnum):
    """Why the coach should think twice before she asks; one sentence each in the templates."""

    HEART = "heart"
    JOINT = "joint"
    SPINE = "spine"
    NUMB_FEET = "numb_feet"
    NEW_PACEMAKER = "new_pacemaker"
    NO_CHAIR = "no_chair"
    NO_WEIGHT = "no_weight"
    NO_HAND_HOLD = "no_hand_hold"


ONE_LEG_TRIES = 3
"""The norm is a mean of three tries (Bohannon 2006)."""

POSSIBLE: Mapping[HomeTest, tuple[float, float]] = {
    HomeTest.CHAIR_STAND: (0, 40),
    HomeTest.ARM_CURL: (0, 60),
    HomeTest.ONE_LEG_STAND: (0, 60),
    HomeTest.FIVE_CHAIR_STANDS: (3, 120),
}
"""Repetitions in 30 seconds, or seconds: what is outside is a slip of the finger (common practice).

More than a stand in three quarters of a second, or five stands in under three, nobody does; on one
leg the client is told to stop after a minute.
"""

# Exertional angina and heart failure: not without the doctor's word, in the test battery's own
# manual (Rikli and Jones 2013, from memory).
_HEART = frozenset({Condition.HEART_FAILURE, Condition.ANGINA})
_JOINTS: Mapping[HomeTest, frozenset[Spare]] = {
    HomeTest.CHAIR_STAND: frozenset({Spare.KNEE, Spare.HIP, Spare.BACK}),
    HomeTest.FIVE_CHAIR_STANDS: frozenset({Spare.KNEE, Spare.HIP, Spare.BACK}),
    HomeTest.ARM_CURL: frozenset({Spare.SHOULDER, Spare.ELBOW, Spare.WRIST}),
    HomeTest.ONE_LEG_STAND: frozenset({Spare.ANKLE, Spare.KNEE, Spare.HIP}),
}
_PACEMAKER_HEALS = timedelta(weeks=6)
_FALLS_ARE_WORSE = frozenset(
    {
        Condition.NERVE_LOSS,
        Condition.STROKE,
        Condition.THIN_BONES,
        Condition.SPINE_FRACTURE,
        Condition.HEART,
        Condition.RHYTHM,
    }
)
_OLD_ENOUGH_FOR_COMPANY = 80


def rather_not(test: HomeTest, client: Client, on: date) -> tuple[RatherNot, ...]:
    """What speaks against asking this client on this day, as far as the record knows."""
    conditions = client.conditions
    standing = test in (HomeTest.CHAIR_STAND, HomeTest.FIVE_CHAIR_STANDS)
    curl, one_leg = test is HomeTest.ARM_CURL, test is HomeTest.ONE_LEG_STAND
    found = {
        RatherNot.HEART: not one_leg and bool(conditions & _HEART),
        RatherNot.JOINT: bool(client.spares & _JOINTS[test]),
        RatherNot.SPINE: Condition.SPINE_FRACTURE in conditions,
        RatherNot.NUMB_FEET: one_leg and Condition.NERVE_LOSS in conditions,
        RatherNot.NEW_PACEMAKER: curl and _is_new(client.pacemaker_on, on),
        RatherNot.NO_CHAIR: (standing or curl) and client.kit.chair is None,
        RatherNot.NO_WEIGHT: curl and client.kit.bottle is None,
        RatherNot.NO_HAND_HOLD: one_leg and client.kit.bench is None,
    }
    return tuple(reason for reason, is_so in found.items() if is_so)


def _is_new(pacemaker_on: date | None, on: date) -> bool:
    return pacemaker_on is not None and on - pacemaker_on < _PACEMAKER_HEALS


def needs_company(test: HomeTest, client: Client, on: date) -> bool:
    """Whether another person must be in the room.

    On one leg always. In the other tests for whom a fall or a faint would be worse: from 80 on,
    with numb feet, thin or broken bones, a stroke, a heart condition (ours, the careful side).
    """
    frail = bool(client.conditions & (_FALLS_ARE_WORSE | _HEART))
    old = client.age_in(on.year) >= _OLD_ENOUGH_FOR_COMPANY
    return test is HomeTest.ONE_LEG_STAND or frail or old


def can_be(test: HomeTest, result: float) -> bool:
    """Whether a result can be true."""
    low, high = POSSIBLE[test]
    return low <= result <= high
