"""Poses with one foot ahead of the other, from the side: split stance and step-up."""

import numpy as np

from core.mechanics.body import FOOT_LENGTH
from core.mechanics.pose import Points, Pose, PoseRefusal, Prop, ankle_over_ball, turned
from core.mechanics.pose_arms import Joints, add_arms, add_trunk
from core.mechanics.pose_feet import STRAIGHT, add_leg, hold_ahead, hold_height, hold_props
from core.mechanics.pose_input import PoseInput, share_of_way
from core.mechanics.pose_props import finished

SPLIT_HOLD = 0.24  # furniture held, ahead of the front ankle, statures
REAR_SOLE = -62.0  # degrees: the rear foot stands on its ball
HIPS_FORWARD = 0.55  # where the hips are between rear and front foot, 1 at the front


def split(given: PoseInput) -> Pose:
    """Feet apart front and back, hips lowered between them.

    Settings: step (length in statures, ankle to ankle), hips_forward (0 over the rear foot, 1 over
    the front one; may be a pair), rear_flat (word: the rear heel stays down and the hips as high
    as the rear leg lets them), steps (word, for pictures: the movement begins with both feet where
    the other one stands, and this foot, "rear" or "front", makes the step), lean, hold, arms.
    """
    body = given.body
    step = np.asarray(given.number("step", 0.42)) * body.stature
    front = np.zeros_like(given.progress) + 1j * body.ankle_height
    sole = np.exp(1j * np.radians(0.0 if given.word("rear_flat") else REAR_SOLE))
    ball = np.broadcast_to(-step + 0.07 * body.stature + 0j, front.shape)
    rear = ankle_over_ball(body, ball, sole)
    share = given.path("hips_forward", HIPS_FORWARD)
    hip_x = rear.real + share * (front.real - rear.real)
    tops = [
        ankle.imag + np.sqrt(np.maximum((STRAIGHT * body.leg) ** 2 - (hip_x - ankle.real) ** 2, 0))
        for ankle in (front, rear)
    ]
    top = np.minimum(*tops)
    bottom = front.imag + 0.90 * body.lengths["shank"]
    # The rear knee, a thigh below the hips, stays a hand's breadth over the floor.
    bottom = np.maximum(bottom, 0.035 * body.stature + 0.985 * body.lengths["thigh"])
    refused = given.nothing_refused()
    refused[np.broadcast_to(bottom > top - 0.03, front.shape)[:, 0]] = PoseRefusal.OUT_OF_REACH
    down = 0.0 if given.word("rear_flat") else given.progress
    hip = hip_x + 1j * (top + (bottom - top) * down)
    joints: Joints = {"hip_near": hip, "hip_far": hip}
    add_leg(joints, body, "near", front)
    add_leg(joints, body, "far", rear, sole, np.ones_like(sole))
    if given.word("steps") and not given.weighing:
        _step_into(given, joints, np.asarray(ball), sole)
    trunk = turned(given.path("lean", 4.0))
    add_trunk(joints, body, trunk)
    ahead = hold_ahead(given, SPLIT_HOLD)
    point = np.full_like(front, ahead + 1j * hold_height(given))
    add_arms(joints, given, trunk, {"near": point, "far": point})
    props = hold_props(given, ahead)
    return finished(given, joints, props, refused=refused)


STEP_CLEAR = 0.035  # how high the stepping foot is lifted, statures


def _step_into(given: PoseInput, joints: Joints, rear_ball: Points, rear_sole: complex) -> None:
    """Replaces the way down by a step: from standing on both feet to the lowest split."""
    body = given.body
    share = share_of_way(given)
    flat = np.ones_like(share, dtype=np.complex128)
    sole = flat * np.exp(1j * np.angle(rear_sole) * share)
    front_flat = 1j * body.ankle_height * flat
    rear_flat = ankle_over_ball(body, rear_ball, flat)
    middle = 0.25 * FOOT_LENGTH * body.stature
    top = 1j * (body.ankle_height + STRAIGHT * body.leg)
    clear = 1j * STEP_CLEAR * body.stature * np.sin(np.pi * share)
    stands: Points = rear_flat
    if given.word("steps") == "rear":
        near = stands = front_flat
        stepped = ankle_over_ball(body, rear_ball[:, -1:], rear_sole * flat)
        far = front_flat + (stepped - front_flat) * share + clear
    else:
        near = rear_flat + (front_flat - rear_flat) * share + clear
        far = ankle_over_ball(body, rear_ball, sole)
    start = stands.real + middle + top
    lowest = joints["hip_near"][:, -1:]
    hip = np.asarray(start + (lowest - start) * share)
    joints["hip_near"] = joints["hip_far"] = hip
    add_leg(joints, body, "near", near)
    add_leg(joints, body, "far", far, sole, flat)


SHIFTED_AT = 0.25  # share of the movement in which the weight goes onto the front foot


def step_up(given: PoseInput) -> Pose:
    """Near foot on a step, the body rises over it, the far foot follows.

    Settings: far_knee (degrees the far knee is lifted at the top), from_top (word: the movement
    begins on the step), hold, arms.
    """
    body = given.body
    height = given.surface("step")
    refused = given.nothing_refused()
    if height > 0.27 * body.stature:
        refused[:] = PoseRefusal.STEP_TOO_HIGH
    if height < 0.03:
        refused[:] = PoseRefusal.SURFACE_TOO_LOW
    s = 1.0 - given.progress if given.word("from_top") else given.progress
    shift = np.clip(s / SHIFTED_AT, 0.0, 1.0)
    rise = np.clip((s - SHIFTED_AT) / (1.0 - SHIFTED_AT), 0.0, 1.0)
    front = np.zeros_like(s) + 1j * (body.ankle_height + height)
    middle = 0.25 * FOOT_LENGTH * body.stature
    behind = -0.24 * body.stature
    start = behind + 0.05 * body.stature + 1j * (body.ankle_height + 0.985 * body.leg)
    over = -0.055 * body.stature + 1j * (body.ankle_height + 1.01 * body.leg)
    top = 0.5 * middle + 1j * (body.ankle_height + height + STRAIGHT * body.leg)
    hip = start + (over - start) * shift + (top - over) * rise
    joints: Joints = {"hip_near": hip, "hip_far": hip}
    add_leg(joints, body, "near", front)
    _add_trailing_leg(given, joints, behind, shift, rise)
    trunk = turned(26.0 * np.sin(np.pi * np.clip(s, 0.0, 1.0)) ** 0.7 * (1 - rise) + 2.0)
    add_trunk(joints, body, trunk)
    ahead = 0.30 * body.stature
    point = np.full_like(front, ahead + 1j * (hold_height(given) + height))
    add_arms(joints, given, trunk, {"near": point, "far": point})
    edge = front[:, :1].real - 0.065 * body.stature + 1j * height
    return finished(given, joints, (Prop("step", edge), *hold_props(given, ahead)), refused=refused)


def _add_trailing_leg(
    given: PoseInput, joints: Joints, behind: float, shift: np.ndarray, rise: np.ndarray
) -> None:
    """The far leg: heel rises while the weight shifts, then the foot comes up beside the other."""
    body = given.body
    lift = np.radians(given.number("far_knee"))
    sole = np.exp(-1j * np.radians(35.0) * shift * (1.0 - rise))
    length = FOOT_LENGTH * body.stature
    ball = behind + 0.48 * length + 0j
    pushing = ankle_over_ball(body, np.full_like(sole, ball), sole)
    hip = joints["hip_far"]
    raised = hip + body.lengths["thigh"] * np.sin(lift) - 1j * body.lengths["thigh"] * np.cos(lift)
    beside = raised - 1j * body.lengths["shank"] * STRAIGHT
    clear = 4.0 * rise * (1.0 - rise) * 0.05 * body.stature * 1j
    ankle = pushing + (beside - pushing) * rise + clear
    add_leg(joints, body, "far", ankle, sole, np.ones_like(sole))
