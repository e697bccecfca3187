"""What poses on two feet share: legs, balance over the feet, and what the hands hold on to."""

import numpy as np

from core.body import FOOT_LENGTH, Body
from core.pose import (
    UPPER_BODY,
    Pose,
    Points,
    Prop,
    Reals,
    View,
    centre,
    foot_points,
    turned,
    two_links,
)
from core.pose_arms import Joints, add_arms, add_trunk, held_kilograms
from core.pose_input import PoseInput

SEAT_TO_HIP = 0.047  # hip joint above the seat, as a fraction of stature
CHAIR_BACK = 0.44  # top of a chair's back above its seat, m
STRAIGHT = 0.994  # legs stand a little short of locked
HOLD_AHEAD = 0.26  # furniture to hold on to, ahead of the ankles, as a fraction of stature
BACK_DEPTH = 0.06  # hip joint to the back of the body, as a fraction of stature


def hold_height(given: PoseInput) -> float:
    """Height of what the hands hold on to: a bench, table, wall or the back of a chair."""
    hold = given.word("hold")
    if hold == "chair":
        return given.surface("chair") + CHAIR_BACK
    if hold == "chair_seat":
        return given.surface("chair")
    if hold == "wall":
        return 0.72 * given.body.stature
    return given.surface(hold)


def hold_props(given: PoseInput, x: Points | float) -> tuple[Prop, ...]:
    """The furniture held on to, its edge at x; a chair shows its back to the person."""
    hold = given.word("hold")
    if not hold:
        return ()
    kind = {"chair": "chair_back", "chair_seat": "chair"}.get(hold, hold)
    return (Prop(kind, x + 1j * hold_height(given)),)


def add_leg(
    joints: Joints,
    body: Body,
    side: str,
    ankle: Points,
    along: Points | complex = 1.0 + 0j,
    toes: Points | complex | None = None,
) -> None:
    """Adds knee, ankle and foot of one leg whose hip is placed and whose foot stands."""
    hip = joints[f"hip_{side}"]
    lengths = body.lengths
    knee, ankle = two_links(hip, ankle, lengths["thigh"], lengths["shank"], 1)
    joints[f"knee_{side}"], joints[f"ankle_{side}"] = knee, ankle
    heel, ball, toe = foot_points(body, ankle, along, toes)
    joints[f"heel_{side}"], joints[f"ball_{side}"], joints[f"toe_{side}"] = heel, ball, toe


def mirror_leg(joints: Joints) -> None:
    """The far leg is where the near one is."""
    for part in ("knee", "ankle", "heel", "ball", "toe"):
        joints[f"{part}_far"] = joints[f"{part}_near"]


def _leg_centre(body: Body, hip: Points, ankle: complex) -> tuple[float, Points]:
    """Mass share and first moment about x = 0 of one leg between hip and ankle."""
    shares, centres = body.shares, body.centres
    knee, _ = two_links(hip, np.asarray(ankle), body.lengths["thigh"], body.lengths["shank"], 1)
    thigh = hip + (knee - hip) * centres["thigh"]
    shank = knee + (ankle - knee) * centres["shank"]
    foot = ankle.real + 0.2 * FOOT_LENGTH * body.stature
    first = shares["thigh"] * thigh.real + shares["shank"] * shank.real + shares["foot"] * foot
    return shares["thigh"] + shares["shank"] + shares["foot"], first


def over_the_feet(given: PoseInput, height: Reals, lean: Reals) -> tuple[Joints, Points]:
    """Feet flat at x = 0, hips at ``height``, trunk leaning by ``lean`` degrees, in balance.

    The hips move back until the centre of mass is above the middle of the feet. Hips that the
    legs cannot reach are lowered to where they can.
    """
    body = given.body
    ankle = 1j * body.ankle_height
    middle = 0.25 * FOOT_LENGTH * body.stature
    trunk = turned(lean)
    zero = np.zeros_like(height, dtype=np.complex128)
    joints: Joints = {"hip_near": zero, "hip_far": zero}
    for part in ("knee", "ankle", "heel", "ball", "toe"):
        joints[f"{part}_near"] = joints[f"{part}_far"] = zero - 1j
    add_trunk(joints, body, trunk)
    add_arms(joints, given, trunk, {"near": zero + 0.3j, "far": zero + 0.3j})
    upper_share, upper = _upper_centre(given, joints)
    x = np.full_like(height, -0.05)
    y = height
    for _ in range(4):
        y = np.minimum(height, body.ankle_height + _reachable(body, x))
        leg_share, leg_first = _leg_centre(body, x + 1j * y, ankle)
        total = upper_share + 2 * leg_share
        offset = (upper_share * (x + upper.real) + 2 * leg_first) / total - middle
        x = x - offset / ((upper_share + leg_share) / total)
    hip = x + 1j * y
    joints["hip_near"] = joints["hip_far"] = hip
    add_leg(joints, body, "near", np.asarray(ankle))
    mirror_leg(joints)
    add_trunk(joints, body, trunk)
    return joints, trunk


def _reachable(body: Body, x: Reals) -> Reals:
    return np.sqrt(np.maximum((STRAIGHT * body.leg) ** 2 - x**2, 0.01))


def _upper_centre(given: PoseInput, joints: Joints) -> tuple[Reals | float, Points]:
    pose = Pose(View.SIDE, joints, joints["gaze"], held_kilograms(given), given.nothing_refused())
    return centre(pose.masses(given.body), UPPER_BODY)
