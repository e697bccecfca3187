"""How far the pose of a rung bends, lifts and loads a body: what limits in degrees are checked on.

Read from the same poses that are weighed and drawn, at the true height of seats and steps. A front
view shows no depth: what a segment lacks of its length there is how far it points to the viewer.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from core.client.client import KitAtHome
from core.client.steering import LIMITS, BodyLimits
from core.mechanics.body import GRAVITY, Body
from core.mechanics.pose import SIDES, Points, Pose, Reals, View
from core.mechanics.pose_input import BAND_NEWTONS, PoseInput, band_tension
from core.mechanics.stances import STANCES
from core.movements.catalogue import Rung, Setting
from core.movements.demand import ALONG, TIME_DIALS, pose_input
from core.vocabulary import Band

FORGIVEN = 0.5
"""Degrees, or kilograms over none, that rounding may add."""


@dataclass(frozen=True, slots=True, eq=False)
class Posture:
    """The most of each limit over a repetition, a number a setting; named as in ``BodyLimits``.

    A band that the hands hold counts with its pull at its furthest, as kilograms in both hands.
    """

    hip_bend: Reals
    knee_bend: Reals
    hip_back: Reals
    arm_raise: Reals
    held_kg: Reals

    def beyond(self, limits: BodyLimits) -> NDArray[np.bool_]:
        """Which settings go beyond a limit."""
        found = np.zeros(len(self.hip_bend), dtype=np.bool_)
        for name in LIMITS:
            most = getattr(limits, name)
            if most is not None:
                slack = 1e-6 if name == "held_kg" else FORGIVEN
                found |= getattr(self, name) > most + slack
        return found


def posture(body: Body, rung: Rung, kit: KitAtHome, settings: Sequence[Setting]) -> Posture:
    """What the pose of each setting asks at its furthest."""
    shapes = [tuple(item for item in one if item[0] not in TIME_DIALS) for one in settings]
    places = {shape: place for place, shape in enumerate(dict.fromkeys(shapes))}
    progress = np.broadcast_to(ALONG, (len(places), len(ALONG)))
    given = pose_input(body, rung, kit, tuple(places), progress)
    pose = STANCES[rung.stance](given)
    rows = [places[shape] for shape in shapes]
    hips, backs, knees, arms = zip(*(_of_side(body, pose, side) for side in SIDES), strict=True)
    held = sum(np.broadcast_to(pose.held[side], (len(places), 1))[:, 0] for side in SIDES)
    held = held + _pull_on_hands(given, kit)
    return Posture(
        hip_bend=_most(hips)[rows],
        knee_bend=_most(knees)[rows],
        hip_back=_most(backs)[rows],
        arm_raise=_most(arms)[rows],
        held_kg=np.asarray(held)[rows],
    )


def _pull_on_hands(given: PoseInput, kit: KitAtHome) -> Reals:
    """Kilograms that a band pulls on both hands at its furthest, one strand in each; (settings,).

    A rung that leaves the band open is done with the stiffest one at home.
    """
    ends = given.values.get("band_between", ())
    if not isinstance(ends, (list, tuple)) or not any(str(end).startswith("wrist") for end in ends):
        return np.zeros(given.settings)
    newtons = given.number("band", BAND_NEWTONS[kit.band or Band.HEAVY])
    pull = band_tension(newtons, given.path("stretch", 100.0))
    return np.asarray(len(SIDES) * pull.max(axis=1) / GRAVITY)


def _most(sides: Sequence[Reals]) -> Reals:
    return np.asarray(np.maximum(*sides).max(axis=1))


def _of_side(body: Body, pose: Pose, side: str) -> tuple[Reals, Reals, Reals, Reals]:
    """Degrees (settings, moments): hip bent, thigh behind the trunk, knee bent, arm raised."""
    at = {
        name: pose.joints[f"{name}_{side}"]
        for name in ("hip", "shoulder", "knee", "ankle", "elbow")
    }
    down = at["hip"] - at["shoulder"]
    thigh, shank = at["knee"] - at["hip"], at["ankle"] - at["knee"]
    upper_arm = at["elbow"] - at["shoulder"]
    lengths = body.lengths
    if pose.view is View.SIDE:
        forward = np.degrees(np.angle(thigh / down))
        return (
            np.maximum(forward, 0.0),
            np.maximum(-forward, 0.0),
            np.abs(np.degrees(np.angle(shank / thigh))),
            np.abs(np.degrees(np.angle(upper_arm / down))),
        )
    long = lengths["thigh"], lengths["shank"], lengths["upper_arm"]
    return (
        _angle(thigh, long[0], down, lengths["trunk"]),
        np.zeros(thigh.shape),
        _angle(thigh, long[0], shank, long[1]),
        _angle(upper_arm, long[2], down, lengths["trunk"]),
    )


def _angle(one: Points, long: float, other: Points, other_long: float) -> Reals:
    """Between two segments seen from in front, of which the first may point to the viewer."""
    flat = (one * other.conj()).real
    lengths = np.maximum(np.abs(one), long) * np.maximum(np.abs(other), other_long)
    return np.asarray(np.degrees(np.arccos(np.clip(flat / lengths, -1.0, 1.0))))
