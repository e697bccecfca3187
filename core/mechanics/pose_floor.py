"""The way from standing down to the floor and up again, in front of a chair, seen from the side.

A way leads through fixed positions, one after the other; between two of them hips, trunk, hands and
feet move evenly. What turns about the body's long axis is not seen from the side.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from core.mechanics.body import Body
from core.mechanics.pose import SIDES, Points, Pose, Prop, Reals, foot_points, two_links
from core.mechanics.pose_arms import Joints, add_trunk
from core.mechanics.pose_feet import STRAIGHT, add_leg, hold_height
from core.mechanics.pose_input import PoseInput
from core.mechanics.pose_plank import WRIST_ABOVE
from core.mechanics.pose_props import finished

WAY: Final = ("stand", "stoop", "one_knee", "two_knees", "all_fours", "side_sit", "lie")
"""From the top to the floor."""

KNEE_ABOVE: Final = 0.03  # knee joint of a kneeling leg above the floor, statures
SEAT_EDGE: Final = 0.335  # front edge of the seat, ahead of the kneeling knee, statures
FRONT_FOOT: Final = 0.20  # ankle of the foot set forward, ahead of the other knee, statures
KNEELING_SOLE: Final = -150.0  # degrees: the foot of a kneeling leg lies on its back
CLEAR: Final = 0.04  # how high a foot is lifted on its way, statures


@dataclass(frozen=True, slots=True)
class _Foot:
    """Ankle, and the way of the sole, degrees."""

    ankle: complex
    sole: float


@dataclass(frozen=True, slots=True)
class _Place:
    """Hips, trunk (degrees forward of upright), wrists and feet."""

    hip: complex
    lean: float
    hand: complex
    near: _Foot
    far: _Foot


def floor_rise(given: PoseInput) -> Pose:
    """Both hands on a chair's seat, down to the floor and up.

    Settings: way (pair of positions of ``WAY``, from the upper to the lower one), hold.
    """
    body = given.body
    first, last = (WAY.index(word) for word in given.words("way", WAY[0]))
    places = [_place(given, name) for name in WAY[first : last + 1]]
    at = given.progress * (len(places) - 1)
    knots = np.arange(len(places), dtype=float)

    def along(points: Sequence[complex]) -> Points:
        parts = np.array(points)
        return np.asarray(np.interp(at, knots, parts.real) + 1j * np.interp(at, knots, parts.imag))

    def turning(degrees: Sequence[float]) -> Points:
        return np.asarray(np.exp(1j * np.radians(np.interp(at, knots, np.array(degrees)))))

    # Hips turn about the knee that kneels, so that it stays on the floor.
    knee = 1j * KNEE_ABOVE * body.stature
    swing = np.log(np.array([one.hip for one in places]) - knee)
    hip = knee + np.exp(along(swing.tolist()))
    joints: Joints = {"hip_near": hip, "hip_far": hip}
    for side in SIDES:
        feet: list[_Foot] = [getattr(one, side) for one in places]
        ankles = [foot.ankle for foot in feet]
        ankle = along(ankles) + 1j * CLEAR * body.stature * _on_its_way(at, ankles)
        sole = turning([foot.sole for foot in feet])
        # A foot that would scuff the floor on its way is lifted clear.
        lowest = np.min([point.imag for point in foot_points(body, ankle, sole)], axis=0)
        add_leg(joints, body, side, ankle + 1j * np.maximum(0.0, -lowest), sole)
    trunk = 1j * turning([-one.lean for one in places])
    add_trunk(joints, body, trunk)
    hand = along([one.hand for one in places])
    for side in SIDES:
        elbow, wrist = two_links(
            joints[f"shoulder_{side}"],
            hand,
            body.lengths["upper_arm"],
            body.lengths["forearm"],
            -1,
        )
        # An elbow that would sink into the floor goes out to the side instead.
        elbow = elbow.real + 1j * np.maximum(elbow.imag, WRIST_ABOVE * body.stature)
        joints[f"elbow_{side}"], joints[f"wrist_{side}"] = elbow, wrist
        joints[f"fingers_{side}"] = wrist + body.lengths["hand"]
    return finished(given, joints, _props(given, floor=last > WAY.index("stoop")))


def _on_its_way(at: Reals, ankles: Sequence[complex]) -> Reals:
    """0 at each position, 1 half-way to the next where the foot goes somewhere else."""
    leg = np.clip(np.floor(at), 0, len(ankles) - 2).astype(int)
    moves = np.abs(np.diff(np.array(ankles))) > 1e-6
    return np.asarray(np.where(moves[leg], np.sin(np.pi * np.clip(at - leg, 0.0, 1.0)), 0.0))


def _place(given: PoseInput, name: str) -> _Place:
    """A position; x = 0 is where the knees kneel, and the chair stands ahead."""
    body = given.body
    st, thigh, shank = body.stature, body.lengths["thigh"], body.lengths["shank"]
    knee = 1j * KNEE_ABOVE * st
    front = FRONT_FOOT * st + 1j * body.ankle_height
    behind = -shank * 0.995 + 1j * 0.042 * st
    seat = SEAT_EDGE * st + 0.03 * st + 1j * (hold_height(given) + WRIST_ABOVE * st)
    floor = 1j * WRIST_ABOVE * st
    upright = front.real + 0.02 * st + 1j * (body.ankle_height + STRAIGHT * body.leg)
    stands, kneels = _Foot(front, 0.0), _Foot(behind, KNEELING_SOLE)
    if name == "stand":
        hang = upright + 1j * (body.lengths["trunk"] - 0.95 * body.arm) + 0.03 * st
        return _Place(upright, 2.0, hang, stands, stands)
    if name == "stoop":
        hip = front.real - 0.13 * st + 1j * (body.ankle_height + 0.88 * body.leg)
        return _Place(hip, 62.0, seat, stands, stands)
    if name == "one_knee":
        return _Place(knee + 1j * thigh, 17.0, seat, stands, kneels)
    if name == "two_knees":
        return _Place(knee + 1j * thigh, 20.0, seat, kneels, kneels)
    if name == "all_fours":
        hip = knee + thigh * np.exp(1j * np.radians(97.0))
        lean = _flat_back(body, hip)
        shoulder = hip + body.lengths["trunk"] * 1j * np.exp(-1j * np.radians(lean))
        return _Place(hip, lean, shoulder.real + floor, kneels, kneels)
    hip = knee + thigh * np.exp(1j * np.radians(172.0))
    if name == "side_sit":
        return _Place(hip, 24.0, hip.real + 0.17 * st + floor, kneels, kneels)
    lies = _Foot(hip.real + 0.27 * st + 1j * body.ankle_height, 0.0)
    return _Place(hip, -86.0, hip.real - 0.05 * st + floor * 2, lies, lies)


def _flat_back(body: Body, hip: complex) -> float:
    """Lean of the trunk on straight arms, degrees."""
    shoulder = 0.98 * body.arm + WRIST_ABOVE * body.stature
    rise = np.clip((shoulder - hip.imag) / body.lengths["trunk"], -0.9, 0.9)
    return float(90.0 - np.degrees(np.arcsin(rise)))


def _props(given: PoseInput, *, floor: bool) -> tuple[Prop, ...]:
    body, shape = given.body, (given.settings, 1)
    edge = np.full(shape, SEAT_EDGE * body.stature + 1j * hold_height(given))
    props: tuple[Prop, ...] = (Prop("chair", edge),)
    if floor:
        mat = np.full(shape, -0.62 * body.stature, dtype=np.complex128)
        props = (Prop("mat", mat, mat + 0.86 * body.stature), *props)
    return props
