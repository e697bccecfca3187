"""Standing poses from the side in which both knees or the hips bend: squat, wall slide, hinge."""

import numpy as np
from numpy.typing import NDArray

from core.mechanics.pose import (
    Pose,
    PoseRefusal,
    Prop,
    Reals,
    foot_points,
    turned,
)
from core.mechanics.pose_arms import Joints, add_arms, add_trunk
from core.mechanics.pose_feet import (
    BACK_DEPTH,
    SEAT_TO_HIP,
    STRAIGHT,
    add_leg,
    firm_near,
    hold_ahead,
    hold_props,
    holds_at,
    mirror_leg,
    over_the_feet,
    stagger,
    swing_leg,
)
from core.mechanics.pose_input import PoseInput
from core.mechanics.pose_props import finished

LOWEST_WEIGHED_SEAT = 0.40  # m; lower seats ask no more (Yoshioka 2014)
SEATED_FROM = 0.9  # share of the way down at which the seat is reached; the rest is settling on it
SOFT_KNEES = 0.03  # how far soft knees lower the hips of a hinge, statures
HINGE_HOLD = 0.30  # furniture held when hinging, ahead of the ankles, statures
WALL_FEET = 0.8  # ankles ahead of the hips against a wall, in thigh lengths
FEET_LEAVE = (
    0.10  # hips above bent knees, perched on the front edge, from which feet leave the floor
)
THIGH_LEVEL = 0.93  # hip height above the ankle, in shank lengths, where the thigh is about level


def squat(given: PoseInput) -> Pose:
    """Standing down to a seat or to level thighs and up again, in balance over flat feet.

    Settings: seat, cushion (cm), lean (degrees at the bottom), foot_ahead (statures that the near
    foot is ahead of the far one at the bottom), hold, arms.
    """
    body = given.body
    refused = given.nothing_refused()
    top = body.ankle_height + STRAIGHT * body.leg
    level = body.ankle_height + THIGH_LEVEL * body.lengths["shank"]
    down, settled = given.progress, np.zeros_like(given.progress)
    bottom: np.ndarray | float = level
    seat = given.word("seat")
    if seat:
        seat_height = given.surface(seat) + np.asarray(given.number("cushion")) / 100.0
        asked = np.maximum(seat_height, LOWEST_WEIGHED_SEAT) if given.weighing else seat_height
        bottom = asked + SEAT_TO_HIP * body.stature
        down = np.clip(given.progress / SEATED_FROM, 0.0, 1.0)
        settled = np.clip((given.progress - SEATED_FROM) / (1.0 - SEATED_FROM), 0.0, 1.0)
        too_high = np.broadcast_to(bottom > top - 0.06 * body.stature, (given.settings, 1))[:, 0]
        too_low = np.broadcast_to(bottom < 0.17 * body.stature, (given.settings, 1))[:, 0]
        refused[too_high] = PoseRefusal.SEAT_TOO_HIGH
        if "cushion" in given.dials:
            refused[_feet_leave(given, seat_height)] = PoseRefusal.SEAT_TOO_HIGH
        refused[too_low] = PoseRefusal.SEAT_TOO_LOW
    height = top + (bottom - top) * down
    bend = np.clip((top - height) / (top - level), 0.0, 1.2)
    lean = given.number("lean", 42.0) * bend**0.8
    lean = lean * (1.0 - settled) + 6.0 * settled
    joints, trunk = over_the_feet(given, height, lean)
    stagger(given, joints)
    if "foot_ahead" in given.values:
        forward = given.number("foot_ahead") * body.stature * down
        add_leg(joints, body, "near", forward + 1j * body.ankle_height)
    ahead = hold_ahead(given)
    add_arms(joints, given, trunk, holds_at(given, ahead))
    support = given.number("support")
    props = hold_props(given, ahead)
    if seat:
        sitting = joints["hip_near"][:, -1:]
        edge = sitting.real + 0.42 * body.lengths["thigh"]
        props += (Prop(seat, edge + 1j * given.surface(seat), facing=-1),)
        if np.any(np.asarray(given.number("cushion")) > 0):
            props += (
                Prop(
                    "cushion",
                    edge + 1j * seat_height,
                    size=np.asarray(given.number("cushion")) / 100.0,
                    facing=-1,
                ),
            )
    return finished(
        given, joints, props, refused=refused, supported=support + (1.0 - support) * settled
    )


def _feet_leave(given: PoseInput, seat_height: Reals) -> NDArray[np.bool_]:
    """Where a cushion makes the seat so high that the feet would hang; shape (settings,)."""
    body = given.body
    knee = body.ankle_height + body.lengths["shank"]
    cushion = np.asarray(given.number("cushion"))
    hangs = seat_height + SEAT_TO_HIP * body.stature > knee + FEET_LEAVE * body.stature
    return np.broadcast_to(hangs & (cushion > 0), (given.settings, 1))[:, 0]


def wall_slide(given: PoseInput) -> Pose:
    """Back against a wall, sliding down until the thighs are level, shins upright."""
    body = given.body
    reach = WALL_FEET * body.lengths["thigh"]
    level = body.ankle_height + THIGH_LEVEL * body.lengths["shank"]
    top = body.ankle_height + np.sqrt((STRAIGHT * body.leg) ** 2 - reach**2)
    hip = -reach + 1j * (top + (level - top) * given.progress)
    joints: Joints = {"hip_near": hip, "hip_far": hip}
    add_leg(joints, body, "near", np.asarray(1j * body.ankle_height))
    mirror_leg(joints)
    trunk = turned(np.zeros_like(given.progress))
    add_trunk(joints, body, trunk)
    add_arms(joints, given, trunk)
    wall = np.full_like(hip, -reach - BACK_DEPTH * body.stature)
    return finished(given, joints, (Prop("wall", wall, facing=-1),))


def hinge(given: PoseInput) -> Pose:
    """Hips pushed back, trunk tipping with a long back, knees soft.

    Settings: lean (degrees, pair), one_leg (the near leg goes back in line with the trunk),
    hold, arms.
    """
    body = given.body
    lean = given.path("lean")
    top = body.ankle_height + STRAIGHT * body.leg
    drop = SOFT_KNEES * body.stature
    height = top - drop * np.clip(lean / 60.0, 0.0, 1.0)
    joints, trunk = over_the_feet(given, height, lean)
    stagger(given, joints)
    if given.word("one_leg"):
        swing_leg(joints, given, thigh=-lean, knee=np.zeros_like(lean), ankle=10.0)
    # A hand on a seat is reached with the trunk down, a bench from standing.
    low = given.word("hold") == "chair_seat"
    ahead = 0.20 * body.stature if low else hold_ahead(given, HINGE_HOLD)
    add_arms(joints, given, trunk, holds_at(given, ahead))
    props = (*hold_props(given, ahead), *firm_near(given))
    if given.word("far_knee_on"):
        _kneel_on(given, joints)
        props = (
            Prop(
                "chair_beside",
                joints["knee_far"][:, :1] - 0.04 * body.stature - 0.03j * body.stature,
            ),
        )
    if given.word("wall_behind"):
        back = joints["hip_near"].real[:, -1:] - BACK_DEPTH * body.stature
        props += (Prop("wall", back + 0j, facing=-1),)
    return finished(given, joints, props)


def _kneel_on(given: PoseInput, joints: Joints) -> None:
    """The far knee on a seat under the hip, the shin lying back along it."""
    body = given.body
    hip = joints["hip_far"]
    knee_y = given.surface(given.word("far_knee_on")) + 0.03 * body.stature
    drop = np.clip(hip.imag - knee_y, 0.3 * body.lengths["thigh"], 0.999 * body.lengths["thigh"])
    knee = hip + np.sqrt(body.lengths["thigh"] ** 2 - drop**2) - 1j * drop
    ankle = knee - body.lengths["shank"] * np.exp(-0.02j)
    joints["knee_far"], joints["ankle_far"] = knee, ankle
    points = foot_points(body, ankle, np.exp(-1j * np.radians(150.0)) * np.ones_like(ankle))
    joints["heel_far"], joints["ball_far"], joints["toe_far"] = points
