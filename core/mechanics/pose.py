"""Poses: where every joint of a body is, at moments of a repetition.

A point is a complex number, ``x + 1j * y`` in metres: x to where the person faces (in side view) or
to the drawn right (in front view), y up from the floor. A direction is a complex number of
length 1, so turning is multiplying. Arrays have the shape (settings, moments): every dial setting
of a rung is placed at once.

A body that cannot take a pose is a result, not an error: see :attr:`Pose.refused`.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

import numpy as np
from numpy.typing import NDArray

from core.mechanics.body import (
    FOOT_LENGTH,
    HEEL_BEHIND_ANKLE,
    HEEL_TO_BALL,
    LIMB_SEGMENTS,
    Body,
)

Reals = NDArray[np.floating[Any]]
Points = NDArray[np.complexfloating[Any, Any]]

SIDES = ("near", "far")

# Which joints a limb segment runs between; the hand and foot points stand for their ends.
LIMB_ENDS = {
    "upper_arm": ("shoulder", "elbow"),
    "forearm": ("elbow", "wrist"),
    "hand": ("wrist", "fingers"),
    "thigh": ("hip", "knee"),
    "shank": ("knee", "ankle"),
    "foot": ("heel", "toe"),
}


class View(StrEnum):
    """From where a pose is seen: the person's right side, or from in front."""

    SIDE = "side"
    FRONT = "front"


class PoseRefusal(StrEnum):
    """Why a body cannot take a pose."""

    SURFACE_TOO_HIGH = "surface_too_high"
    SURFACE_TOO_LOW = "surface_too_low"
    SEAT_TOO_HIGH = "seat_too_high"
    SEAT_TOO_LOW = "seat_too_low"
    STEP_TOO_HIGH = "step_too_high"
    OUT_OF_REACH = "out_of_reach"


@dataclass(frozen=True, slots=True)
class Prop:
    """A thing in the picture, at true size.

    Attributes:
        kind: chair (from its side), chair_back (its back to the person, held), chair_front (seen
            from in front, ``at`` its left corner), cushion, bench, table, step, wall, mat, roll
            (of a towel, ``at`` its middle), tape (on the floor, from ``at`` to ``to``), bottle or
            band.
        at: the edge nearest the person at its top (furniture), the grip (bottle), one end (band,
            mat, at floor level); a wall stands at x for all heights.
        to: the other end of a band or mat.
        size: thickness (cushion), mass in kg (bottle), else 0.
        facing: furniture extends from ``at`` to x of this sign; a chair's sitter looks the
            other way.
    """

    kind: str
    at: Points
    to: Points | None = None
    size: Reals | float = 0.0
    facing: int = 1


@dataclass(frozen=True, slots=True)
class Pose:
    """All joints of a body at all moments for all settings of a rung.

    Attributes:
        joints: by name: neck, crown, and with ``_near`` or ``_far``: shoulder, elbow, wrist,
            fingers, hip, knee, ankle, heel, ball, toe. In front view near is the drawn right.
        gaze: direction of the face; in front view the sines of the turns of head and trunk to +x,
            as real and imaginary part.
        held: kilograms in each hand, by side, shape (settings, 1) or a number.
        refused: why a setting cannot be placed, "" where it can; shape (settings,).
        supported: share of body weight that furniture carries, shape as the joints.
    """

    view: View
    joints: Mapping[str, Points]
    gaze: Points
    held: Mapping[str, Reals | float]
    refused: NDArray[np.str_]
    props: tuple[Prop, ...] = ()
    supported: Reals | float = 0.0

    def mass(self, body: Body, part: str) -> tuple[Reals | float, Points]:
        """One segment or held weight: share of body mass, and centre of mass."""
        joints = self.joints
        if part in ("trunk", "head"):
            shoulders = (joints["shoulder_near"] + joints["shoulder_far"]) / 2
            if part == "trunk":
                hips = (joints["hip_near"] + joints["hip_far"]) / 2
                return body.shares[part], shoulders + (hips - shoulders) * body.centres[part]
            down = body.lengths["head"] * body.centres["head"] / body.lengths["neck"]
            crown = joints["crown"]
            return body.shares[part], crown - (crown - shoulders) * down
        segment, _, side = part.rpartition("_")
        if segment == "held":
            return self.held[side] / body.mass, joints[f"wrist_{side}"]
        near, far = LIMB_ENDS[segment]
        start, end = joints[f"{near}_{side}"], joints[f"{far}_{side}"]
        return body.shares[segment], start + (end - start) * body.centres[segment]

    @property
    def parts(self) -> tuple[str, ...]:
        """Names of everything that has mass: segments, and weights that are held."""
        return SEGMENTS + tuple(f"held_{side}" for side in SIDES if holds(self.held[side]))


def holds(kilograms: Reals | float) -> bool:
    """Whether a hand holds something at any setting."""
    return kilograms > 0.0 if isinstance(kilograms, float) else bool(kilograms.any())


SEGMENTS = ("trunk", "head", *(f"{part}_{side}" for side in SIDES for part in LIMB_SEGMENTS))
UPPER_BODY = (
    "trunk",
    "head",
    *(f"{part}_{side}" for part in ("upper_arm", "forearm", "hand", "held") for side in SIDES),
)


def leg_parts(side: str) -> tuple[str, ...]:
    """Names of the mass points of one leg."""
    return (f"thigh_{side}", f"shank_{side}", f"foot_{side}")


def arm_parts(side: str) -> tuple[str, ...]:
    """Names of the mass points of one arm with what it holds."""
    return (f"upper_arm_{side}", f"forearm_{side}", f"hand_{side}", f"held_{side}")


def centre(masses: Iterable[tuple[Reals | float, Points]]) -> tuple[Reals | float, Points]:
    """Share of body mass and common centre of several parts."""
    total: Reals | float = 0.0
    weighted: Points | complex = 0j
    for share, where in masses:
        total = total + share
        weighted = weighted + share * where
    return total, np.asarray(weighted / total)


def turned(degrees: Reals | float) -> Points:
    """The direction this many degrees forward of straight up (down is 180)."""
    return np.asarray(1j * np.exp(-1j * np.radians(degrees)))


def two_links(
    root: Points, target: Points, upper: float, lower: float, sign: int
) -> tuple[Points, Points]:
    """Places a two-segment limb from ``root`` towards ``target``: (middle joint, end).

    ``sign`` +1 bends like a knee, -1 like an elbow, for a person who faces x. A target out of
    reach is approached as far as the limb goes.
    """
    line = target - root
    distance = np.maximum(np.abs(line), 1e-9)
    line = line / distance
    reach = np.minimum(np.maximum(distance, abs(upper - lower) + 1e-4), (upper + lower) * 0.9999)
    cosine = (upper**2 + reach**2 - lower**2) / (2 * upper * reach)
    cosine = np.minimum(np.maximum(cosine, -1.0), 1.0)
    turn = cosine + sign * 1j * np.sqrt(1.0 - cosine * cosine)
    return root + upper * line * turn, root + line * reach


def foot_points(
    body: Body, ankle: Points, along: Points | complex, toes: Points | complex | None = None
) -> tuple[Points, Points, Points]:
    """(heel, ball, toe) of a foot whose sole points ``along``; bent toes point along ``toes``."""
    length = FOOT_LENGTH * body.stature
    heel = ankle - HEEL_BEHIND_ANKLE * length * along - 1j * body.ankle_height * along
    ball = heel + HEEL_TO_BALL * length * along
    toe = ball + (1 - HEEL_TO_BALL) * length * (along if toes is None else toes)
    return heel, ball, toe


def ankle_over_ball(body: Body, ball: Points, along: Points | complex) -> Points:
    """Where the ankle is when the ball of the foot stands at ``ball``, sole ``along``."""
    length = FOOT_LENGTH * body.stature
    forward = (HEEL_TO_BALL - HEEL_BEHIND_ANKLE) * length
    return ball - forward * along + 1j * body.ankle_height * along
