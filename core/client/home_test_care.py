"""Before a home test: who should rather not do it, who needs somebody near, what can be true.

The tests themselves and their norms are in :mod:`core.client.home_tests`.
"""

from collections.abc import Mapping
from datetime import date

from core.client.client import Client
from core.client.home_tests import HomeTest, RatherNot
from core.client.steering import SteeringTable, steering_of
from core.vocabulary import Spare

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

_JOINTS: Mapping[HomeTest, frozenset[Spare]] = {
    HomeTest.CHAIR_STAND: frozenset({Spare.KNEE, Spare.HIP, Spare.BACK}),
    HomeTest.FIVE_CHAIR_STANDS: frozenset({Spare.KNEE, Spare.HIP, Spare.BACK}),
    HomeTest.ARM_CURL: frozenset({Spare.SHOULDER, Spare.ELBOW, Spare.WRIST}),
    HomeTest.ONE_LEG_STAND: frozenset({Spare.ANKLE, Spare.KNEE, Spare.HIP}),
}
_OLD_ENOUGH_FOR_COMPANY = 80


def rather_not(
    test: HomeTest, client: Client, on: date, table: SteeringTable
) -> tuple[RatherNot, ...]:
    """What speaks against asking this client on this day, as far as the record knows.

    Args:
        table: what conditions, medicines and operations say (:mod:`core.client.steering`).
    """
    rows = steering_of(client, table, on).rows
    told = {row.rather_not[test] for row in rows if test in row.rather_not}
    standing = test in (HomeTest.CHAIR_STAND, HomeTest.FIVE_CHAIR_STANDS)
    curl, one_leg = test is HomeTest.ARM_CURL, test is HomeTest.ONE_LEG_STAND
    found = {
        RatherNot.JOINT: bool(client.spares & _JOINTS[test]),
        RatherNot.NO_CHAIR: (standing or curl) and client.kit.chair is None,
        RatherNot.NO_WEIGHT: curl and client.kit.bottle is None,
        RatherNot.NO_HAND_HOLD: one_leg and client.kit.bench is None,
    }
    return tuple(reason for reason in RatherNot if reason in told or found.get(reason))


def needs_company(test: HomeTest, client: Client, on: date, table: SteeringTable) -> bool:
    """Whether another person must be in the room.

    On one leg always. In the other tests for whom a fall or a faint would be worse: from 80 on,
    and where a row of the table says so (ours, the careful side).
    """
    frail = any(row.company for row in steering_of(client, table, on).rows)
    old = client.age_in(on.year) >= _OLD_ENOUGH_FOR_COMPANY
    return test is HomeTest.ONE_LEG_STAND or frail or old


def can_be(test: HomeTest, result: float) -> bool:
    """Whether a result can be true."""
    low, high = POSSIBLE[test]
    return low <= result <= high
