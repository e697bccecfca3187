"""Warm-up and cool-down are the client's own: what is spared is in neither."""

from dataclasses import replace
from datetime import date

import pytest

from core.client.client import KitAtHome
from core.client.operations import DayOrPart, Joint, Operation
from core.client.steering import Trait
from core.dose.gentle import cool_down_moves, warm_up_moves
from core.vocabulary import Condition, Family, Spare
from tests.support.dose_cases import client_of
from tests.support.loaded import catalogue

CATALOGUE = catalogue()
ON = date(2026, 1, 5)
PARTS = 4


def moves(client):
    found = []
    for part in range(PARTS):
        found += warm_up_moves(client, CATALOGUE, ON, part, PARTS)
        found += cool_down_moves(client, CATALOGUE, ON, part, last=part == PARTS - 1)
    return [CATALOGUE.by_id[rung] for rung in found]


@pytest.mark.parametrize("spare", Spare)
def test_no_part_stresses_what_is_spared(spare):
    for rung in moves(client_of(spares=frozenset({spare}))):
        assert spare not in rung.stresses, rung.id


def test_numb_feet_warm_up_with_a_hand_on_something():
    someone = client_of(conditions=frozenset({Condition.NERVE_LOSS}))
    assert not any(Trait.UNHELD in rung.traits for rung in moves(someone))


def test_a_new_hip_is_not_bent_over_a_right_angle_in_the_warm_up():
    """A seated march bends it by 109 degrees, a lean to the knees by 117."""
    someone = client_of(operations=(Operation(joint=Joint.HIP, on=DayOrPart(2026, 1, 1)),))
    found = {rung.id for rung in moves(someone)}
    assert not found & {"warm_seated_march", "breathing_lean_rest", "cool_thigh_back"}
    assert found


def test_the_first_part_is_the_easiest_and_the_last_is_breathing():
    someone = client_of()
    assert warm_up_moves(someone, CATALOGUE, ON, 0, PARTS)[0] == "warm_shoulder_rolls"
    first = cool_down_moves(someone, CATALOGUE, ON, 0, last=False)
    assert first[0] == "cool_slow_march"
    last = cool_down_moves(someone, CATALOGUE, ON, 2, last=True)
    assert {CATALOGUE.by_id[rung].family for rung in last} == {Family.BREATHING}


def test_each_part_has_other_moves_while_there_are_any():
    someone = client_of()
    first, second = (warm_up_moves(someone, CATALOGUE, ON, part, 2) for part in (0, 1))
    assert not set(first) & set(second)


def test_nobody_lies_down_and_without_a_chair_there_may_be_nothing():
    assert all("mat" not in rung.needs for rung in moves(client_of()))
    bare = replace(client_of(), kit=KitAtHome(chair=None, wall=False))
    assert all(not rung.needs for rung in moves(bare))


@pytest.mark.parametrize(
    ("families", "rungs"),
    [
        ((Family.SQUAT, Family.PUSH, Family.SIDE_LIFT), {"warm_small_squat", "warm_side_tap"}),
        ((Family.STEP, Family.PULL), {"warm_march_held", "warm_arm_swing"}),
    ],
)
def test_a_short_warm_up_prepares_the_movements_of_the_day(families, rungs):
    someone = client_of()
    found = [
        one for part in (0, 1) for one in warm_up_moves(someone, CATALOGUE, ON, part, 2, families)
    ]
    assert rungs <= set(found)
    efforts = [CATALOGUE.by_id[one].effort for one in found]
    assert efforts == sorted(efforts), "the easiest first"
