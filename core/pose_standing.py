"""Standing poses from the side: squat, wall slide, hinge, and standing with a limb moving."""

import numpy as np

from core.body import FOOT_LENGTH, HEEL_TO_BALL, HEEL_BEHIND_ANKLE
from core.pose import (
    Pose,
    Prop,
    Refusal,
    View,
    ankle_over_ball,
    foot_points,
    turned,
)
from core.pose_arms import Joints, add_arms, add_trunk
from core.pose_feet import (
    BACK_DEPTH,
    HOLD_AHEAD,
    SEAT_TO_HIP,
    STRAIGHT,
    add_leg,
    hold_height,
    hold_props,
    mirror_leg,
    over_the_feet,
)
from core.pose_input import PoseInput
from core.pose_props import finished

SEATED_FROM = 0.9  # share of the way down at which the seat is reached; the rest is settling on it
WALL_FEET = 0.8  # ankles ahead of the hips against a wall, in thigh lengths
THIGH_LEVEL = 0.93  # hip height above the ankle, in shank lengths, where the thigh is about level


def _holds(given: PoseInput, x: float) -> dict[str, np.ndarray]:
    point = np.full_like(given.progress, x, dtype=np.complex128) + 1j * hold_height(given)
    return {"near": point, "far": point}


def squat(given: PoseInput) -> Pose:
    """Standing down to a seat or to level thighs and up again, in balance over flat feet.

    Settings: seat, cushion (cm), lean (degrees at the bottom), hold, arms.
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
        bottom = seat_height + SEAT_TO_HIP * body.stature
        down = np.clip(given.progress / SEATED_FROM, 0.0, 1.0)
        settled = np.clip((given.progress - SEATED_FROM) / (1.0 - SEATED_FROM), 0.0, 1.0)
        too_high = np.broadcast_to(bottom > top - 0.06 * body.stature, (given.settings, 1))[:, 0]
        too_low = np.broadcast_to(bottom < 0.17 * body.stature, (given.settings, 1))[:, 0]
        refused[too_high] = Refusal.SEAT_TOO_HIGH
        refused[too_low] = Refusal.SEAT_TOO_LOW
    height = top + (bottom - top) * down
    bend = np.clip((top - height) / (top - level), 0.0, 1.2)
    lean = given.number("lean", 42.0) * bend**0.8
    lean = lean * (1.0 - settled) + 6.0 * settled
    joints, trunk = over_the_feet(given, height, lean)
    ahead = HOLD_AHEAD * body.stature
    add_arms(joints, given, trunk, _holds(given, ahead))
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
    drop = given.number("knees_soft", 0.03) * body.stature
    height = top - drop * np.clip(lean / 60.0, 0.0, 1.0)
    joints, trunk = over_the_feet(given, height, lean)
    if given.word("one_leg"):
        behind = np.asarray(turned(180.0 + lean * 1.0))
        joints["knee_near"] = joints["hip_near"] + body.lengths["thigh"] * behind
        joints["ankle_near"] = joints["knee_near"] + body.lengths["shank"] * behind
        along = behind * np.exp(1j * np.radians(75.0))
        points = foot_points(body, joints["ankle_near"], along)
        joints["heel_near"], joints["ball_near"], joints["toe_near"] = points
    ahead = (0.20 if given.word("hold") == "chair_seat" else 0.30) * body.stature
    add_arms(joints, given, trunk, _holds(given, ahead))
    props = hold_props(given, ahead)
    if given.word("far_knee_on"):
        _kneel_on(given, joints)
        props = (Prop("chair", joints["knee_far"][:, :1] - 0.05 * body.stature - 0.03j * body.stature),)
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


def stand(given: PoseInput) -> Pose:
    """Upright; heels may rise, and the near leg may swing or bend.

    Settings (degrees, each a number or a pair): heels (both soles tip up onto the ball, or the
    far one when the near leg is lifted), near_thigh (forward of hanging), near_knee (bend),
    near_ankle (toes up), lean, nod; near_back and far_back (feet placed apart, in statures);
    step (word: stand with the ball on a step); hold, arms.
    """
    body = given.body
    heels = given.path("heels")
    base = given.surface("step") if given.word("step") else 0.0
    sole = np.exp(-1j * np.radians(heels))
    length = FOOT_LENGTH * body.stature
    ball_ahead = (HEEL_TO_BALL - HEEL_BEHIND_ANKLE) * length
    ball = np.full_like(given.progress, ball_ahead, dtype=np.complex128) + 1j * base
    ankle = ankle_over_ball(body, ball, sole)
    over = np.clip(np.abs(heels) / 12.0, 0.0, 1.0)
    hip_x = (1 - over) * 0.25 * length + over * ball_ahead
    hip_x = hip_x + np.asarray(given.number("shift")) * body.stature
    hip_y = ankle.imag + np.sqrt((STRAIGHT * body.leg) ** 2 - (hip_x - ankle.real) ** 2)
    hip = hip_x + 1j * (hip_y - np.asarray(given.number("drop")) * body.stature)
    joints: Joints = {"hip_near": hip, "hip_far": hip}
    far_back = np.asarray(given.number("far_back")) * body.stature
    add_leg(joints, body, "far", ankle - far_back, sole, np.ones_like(sole))
    moving = "near_thigh" in given.values or "near_thigh" in given.dials
    if moving:
        thigh = turned(180.0 - given.path("near_thigh"))
        shin = turned(180.0 - given.path("near_thigh") + given.path("near_knee"))
        joints["knee_near"] = hip + body.lengths["thigh"] * thigh
        joints["ankle_near"] = joints["knee_near"] + body.lengths["shank"] * shin
        along = shin * 1j * np.exp(1j * np.radians(given.path("near_ankle")))
        points = foot_points(body, joints["ankle_near"], along)
        joints["heel_near"], joints["ball_near"], joints["toe_near"] = points
    elif "near_back" in given.values:
        near_back = np.asarray(given.number("near_back")) * body.stature
        add_leg(joints, body, "near", ankle - near_back, sole, np.ones_like(sole))
    else:
        for part in ("knee", "ankle", "heel", "ball", "toe"):
            joints[f"{part}_near"] = joints[f"{part}_far"]
    trunk = turned(given.path("lean"))
    add_trunk(joints, body, trunk, given.path("nod"))
    ahead = np.asarray(given.number("hold_ahead", HOLD_AHEAD)) * body.stature
    add_arms(joints, given, trunk, _holds(given, float(np.max(ahead))))
    props = hold_props(given, float(np.max(ahead)))
    if base:
        edge = ball[:, :1] - 0.02 * body.stature
        props += (Prop("step", edge),)
    return finished(given, joints, props)
