"""What is left for somebody with nothing but a chair who spares a joint, or two.

Each family keeps two rungs, or a family that the session names as its stand-in does.
"""

import itertools
from datetime import date
from functools import lru_cache

import pytest

from core.client.client import KitAtHome
from core.dose.session import INSTEAD_OF
from core.movements.demand import UNWEIGHED
from core.movements.ladder import ladder
from core.vocabulary import Family, Spare
from tests.core.movements.people import catalogue, client

TODAY = date(2026, 3, 2)
CHAIR_ONLY = KitAtHome(chair=43.0)
SPARED = [
    *((one,) for one in Spare),
    *itertools.combinations(Spare, 2),
]


@lru_cache
def rungs_left(spared: tuple[Spare, ...]) -> dict[Family, set[str]]:
    floor = Spare.FLOOR not in spared
    someone = client(kit=CHAIR_ONLY, spares=frozenset(spared), floor_ok=floor)
    return {
        family: {step.rung for step in ladder(someone, family, catalogue(), TODAY)}
        for family in Family
    }


@pytest.mark.parametrize("spared", SPARED, ids=" and ".join)
def test_each_family_keeps_two_rungs_or_a_named_stand_in_does(spared: tuple[Spare, ...]) -> None:
    left = rungs_left(spared)
    for family in Family:
        if family not in UNWEIGHED and len(left[family]) < 2:
            assert any(len(left[other]) >= 2 for other in INSTEAD_OF[family]), family


@pytest.mark.parametrize("spared", SPARED, ids=" and ".join)
def test_there_is_always_something_to_warm_up_and_to_cool_down_with(
    spared: tuple[Spare, ...],
) -> None:
    left = rungs_left(spared)
    for family in UNWEIGHED:
        assert len(left[family]) >= 2, family


@pytest.mark.parametrize(
    ("spare", "family", "rungs"),
    [
        (Spare.KNEE, Family.SQUAT, {"squat_knee_press", "squat_leg_forward", "squat_short_arc"}),
        (Spare.KNEE, Family.LUNGE, set()),
        (Spare.ANKLE, Family.HEEL_RAISE, {"heel_toes_up_seated"}),
        (Spare.SHOULDER, Family.PULL, {"pull_grip_towel"}),
    ],
)
def test_what_is_done_instead_is_what_a_physiotherapist_gives(
    spare: Spare, family: Family, rungs: set[str]
) -> None:
    """Quad sets and straight-leg raises for a knee (TRIO), the rest common practice."""
    assert rungs_left((spare,))[family] == rungs
