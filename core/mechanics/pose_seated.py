"""Poses on a chair, from the side."""

import numpy as np

from core.mechanics.pose import (
    SIDES,
    Points,
    Pose,
    PoseRefusal,
    Prop,
    ankle_over_ball,
    foot_points,
    turned,
)
from core.mechanics.pose_arms import Joints, add_arms, add_trunk
from core.mechanics.pose_feet import SEAT_TO_HIP, add_leg
from core.mechanics.pose_input import PoseInput
from core.mechanics.pose_props import finished


def sit(given: PoseInput) -> Pose:
    """Seated with feet on the floor.

    Settings (degrees, each a number or a pair): lean, nod, draw_back (statures the head slides
    straight back), near_shin (forward of hanging; the
    knee straightens), near_lift (thigh above level), heels (soles tip up onto the ball),
    near_ankle (toes up while the leg is straight); feet (how far ahead of the knee, in
    statures); near_slide (statures the near foot slides ahead on the floor); roll (0 to 1: the
    shoulders go up and back); edge (thigh lengths that the seat goes on ahead of the hips); cushion
    (cm); arms.
    """
    body = given.body
    seat = given.surface("chair")
    cushion = np.asarray(given.number("cushion")) / 100.0
    hip_y = seat + cushion + SEAT_TO_HIP * body.stature + np.zeros_like(given.progress)
    hip = 1j * hip_y
    refused = given.nothing_refused()
    # With the feet flat the knees may stand higher than the hips, or a little lower.
    high = hip_y[:, 0] > body.ankle_height + body.lengths["shank"] + 0.08 * body.stature
    refused[high] = PoseRefusal.SEAT_TOO_HIGH
    refused[hip_y[:, 0] < 0.17 * body.stature] = PoseRefusal.SEAT_TOO_LOW
    joints: Joints = {"hip_near": hip, "hip_far": hip}
    thigh, shank = body.lengths["thigh"], body.lengths["shank"]
    knee_y = min(body.ankle_height + shank, float(np.max(hip_y)) + 0.98 * thigh)
    knee_x = np.sqrt(np.maximum(thigh**2 - (knee_y - hip_y) ** 2, (0.6 * thigh) ** 2))
    ahead = np.asarray(given.number("feet")) * body.stature
    heels = given.path("heels")
    sole = np.exp(-1j * np.radians(heels))
    flat = knee_x + ahead + 1j * body.ankle_height
    ball = foot_points(body, flat, np.ones_like(sole))[1]
    add_leg(joints, body, "far", ankle_over_ball(body, ball, sole), sole, np.ones_like(sole))
    if "near_shin" in given.values or "near_lift" in given.values:
        lift = given.path("near_lift") + np.degrees(np.angle(joints["knee_far"] - hip))
        joints["knee_near"] = hip + thigh * np.exp(1j * np.radians(lift))
        shin = turned(180.0 - given.path("near_shin"))
        joints["ankle_near"] = joints["knee_near"] + shank * shin
        flat_sole = np.ones_like(sole)
        with_shin = shin * 1j * np.exp(1j * np.radians(given.path("near_ankle")))
        straight = np.clip(given.path("near_shin") / 30.0, 0.0, 1.0)
        along = flat_sole * (1 - straight) + with_shin * straight
        along = along / np.abs(along)
        points = foot_points(body, joints["ankle_near"], along)
        joints["heel_near"], joints["ball_near"], joints["toe_near"] = points
    elif "near_slide" in given.values:
        slid = flat + given.path("near_slide") * body.stature
        add_leg(joints, body, "near", slid, np.ones_like(sole))
    else:
        for part in ("knee", "ankle", "heel", "ball", "toe"):
            joints[f"{part}_near"] = joints[f"{part}_far"]
    trunk = turned(given.path("lean", 2.0))
    add_trunk(joints, body, trunk, given.path("nod"), given.path("draw_back"))
    _roll_shoulders(joints, given, trunk)
    add_arms(joints, given, trunk)
    ahead_of_hips = given.number("edge", 0.42) * thigh
    edge = np.full((given.settings, 1), ahead_of_hips) + 1j * seat
    props: tuple[Prop, ...] = (Prop("chair", edge, facing=-1),)
    if np.any(cushion > 0):
        props += (Prop("cushion", edge + 1j * cushion, size=cushion, facing=-1),)
    return finished(given, joints, props, refused=refused, supported=1.0)


ROLL_UP, ROLL_BACK = 0.024, 0.03  # statures that rolled shoulders rise and go back


def _roll_shoulders(joints: Joints, given: PoseInput, trunk: Points) -> None:
    """Takes the shoulders up first, then back; neck and head stay."""
    rolled = given.path("roll")
    up = ROLL_UP * np.sin(np.radians(120.0) * rolled) / np.sin(np.radians(120.0))
    back = ROLL_BACK * rolled**2
    shift = given.body.stature * trunk * (up + 1j * back)
    for side in SIDES:
        joints[f"shoulder_{side}"] = joints[f"shoulder_{side}"] + shift
