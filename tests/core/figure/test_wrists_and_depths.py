"""What is drawn of a wrist and of a depth is what the rung and its words say.

That a sore wrist is kept in line with the forearm is common practice; the angles and shares that
count as "straight", "a little" and "level" here are ours.
"""

import re
from cmath import phase
from math import asin, degrees

import pytest

from core.client.steering import Trait
from core.figure.contact import FINGERS, Hand, touching
from core.figure.skeleton import Skeleton
from core.figure.stage import skeletons_of
from core.mechanics.pose import SIDES, View
from core.movements.catalogue import Rung
from core.vocabulary import Spare
from tests.core.figure.scenes import BODIES, CATALOGUE, scene
from tests.core.movements.people import words

FOR_SORE_WRISTS = [rung for rung in CATALOGUE.by_id.values() if Spare.WRIST not in rung.stresses]
STRAIGHT = 35.0
"""Degrees between forearm and hand."""


@pytest.mark.parametrize("rung", FOR_SORE_WRISTS, ids=lambda rung: rung.id)
def test_a_sore_wrist_presses_on_nothing_while_it_is_bent(rung: Rung) -> None:
    for bones in skeletons_of(scene(rung.id), 2)[0]:
        found, grips = touching(bones)
        for side in SIDES:
            grip = grips[side]
            if grip.hand not in (Hand.FLAT, Hand.WALL, Hand.FINGERTIPS) or _lies(found):
                continue
            fore = found[f"wrist_{side}"] - found[f"elbow_{side}"]
            # A fist is drawn round, at the end of the forearm: nothing of it is bent back.
            bent = 0.0 if grip.fist else abs(degrees(phase(grip.way / fore)))
            assert bent < STRAIGHT, (side, grip, bent)
            if Trait.WEIGHT_ON_HANDS in rung.traits and not grip.fist:
                raise AssertionError("the body's weight on an open hand")


def _lies(bones: Skeleton) -> bool:
    """Whether the person lies or sits on the floor, where a hand only rests."""
    return bones.hips.imag < 30.0 * bones.scale


@pytest.mark.parametrize("body", BODIES)
@pytest.mark.parametrize("rung", ["cool_calf_wall", "side_wall_hand", "overhead_wall_slide"])
def test_fingertips_reach_the_wall_and_do_not_pass_it(rung: str, body) -> None:
    for bones in skeletons_of(scene(rung, body=body), 2)[0]:
        found, grips = touching(bones)
        wall = found.prop("wall", "wall_beside")
        assert wall is not None
        tips = [
            found[f"wrist_{side}"] + FINGERS * found.scale * grips[side].way
            for side in SIDES
            if grips[side].hand is Hand.FINGERTIPS
        ]
        assert tips
        assert all(abs(tip.real - wall.at.real) < 2.5 * found.scale for tip in tips)


UP_AND_DOWN = {"squat": "hip", "lunge": "hip", "warm_up": "hip", "push": "shoulder"}
RANGED = [
    rung
    for rung in CATALOGUE.by_id.values()
    if "range" in rung.dials
    and (rung.family.value in UP_AND_DOWN or rung.id in ("bridge_small", "bridge_full"))
]


def _way(rung: Rung, share: float) -> float:
    """How far the body goes at a share of the way, cm: hips up or down, in pushes the shoulder."""
    found = skeletons_of(scene(rung.id, (("range", share),)), 2)[0]
    joint = UP_AND_DOWN.get(rung.family.value, "hip")
    way = found[-1][f"{joint}_near"] - found[0][f"{joint}_near"]
    return abs(way) if joint == "shoulder" else abs(way.imag)


@pytest.mark.parametrize("rung", RANGED, ids=lambda rung: rung.id)
def test_a_share_of_the_way_is_drawn_as_that_share(rung: Rung) -> None:
    whole = _way(rung, 1.0)
    assert whole > 5.0
    for share in rung.dials["range"]:
        assert _way(rung, float(share)) / whole == pytest.approx(float(share), abs=0.1), share


LITTLE = re.compile(r"\b(bend|bends|lower|lowers|lift|lifts)\b[^.]*\ba little\b")
UPRIGHT_KNEE_BENDS = ("squat", "lunge")


@pytest.mark.parametrize("family", UPRIGHT_KNEE_BENDS)
def test_knees_that_bend_a_little_bend_less_than_in_every_other_bend(family: str) -> None:
    drop: dict[str, float] = {}
    for rung in CATALOGUE.by_id.values():
        if rung.family.value != family or rung.stance not in ("squat", "split"):
            continue
        found = skeletons_of(scene(rung.id), 2)[0]
        drop[rung.id] = (found[0].hips - found[-1].hips).imag
    little = {r for r in drop if LITTLE.search(words().rungs[r].picture_text)}
    assert little
    deepest = max(drop.values())
    assert all(drop[r] < 0.45 * deepest for r in little), drop
    assert min(drop[r] for r in drop.keys() - little) > max(drop[r] for r in little)


def test_thighs_that_are_level_in_the_words_are_level_in_the_picture() -> None:
    said = [r for r in CATALOGUE.by_id if "thighs are level" in words().rungs[r].picture_text]
    assert said
    for rung in said:
        last = skeletons_of(scene(rung), 2)[0][-1]
        assert last.view is View.SIDE
        thigh = last["knee_near"] - last["hip_near"]
        assert abs(degrees(asin(thigh.imag / abs(thigh)))) < 8.0
