"""Poses on the floor: on the back (side view), on the side (seen from in front)."""

import numpy as np

from core.mechanics.body import HIP_HALF_WIDTH, HIP_JOINT_HALF, SHOULDER_HALF_WIDTH
from core.mechanics.pose import Points, Pose, Prop, Reals, View, foot_points, two_links
from core.mechanics.pose_arms import Joints, add_arms, add_trunk
from core.mechanics.pose_feet import add_leg
from core.mechanics.pose_input import PoseInput, share_of_way
from core.mechanics.pose_props import finished

BACK_THICKNESS = 0.055  # joints of the trunk above the floor, lying on the back, in statures
LIFTED_AT = 0.5  # share of the way at which a leg that leaves the floor is where it is weighed
KNEE_BEND_LIFT = 45.0  # degrees searched for the lift that brings hips in line


def supine(given: PoseInput) -> Pose:
    """On the back, head to the left, knees bent; hips may lift, a leg may move.

    Settings: feet (hip to ankle along the floor, in statures), feet_on (furniture under the
    heels), lift (0 to 1 of the way to a straight line from shoulders to knees), near_thigh
    (degrees between thigh and floor) with near_knee (degrees of bend): the near leg leaves the
    floor; thigh_roll (word: the near thigh rests on a roll, only the knee moves); both_legs (word:
    the far leg does the same); near_slide (statures the near heel slides out), arms.
    """
    body = given.body
    low = BACK_THICKNESS * body.stature
    base = given.surface(given.word("feet_on")) if given.word("feet_on") else 0.0
    shoulder = -body.lengths["trunk"] + 1j * low
    distance = np.asarray(given.number("feet", 0.24)) * body.stature
    foot = distance + 1j * (base + body.ankle_height)
    lift = given.path("lift") * _straight_lift(given, shoulder, foot)
    hip = shoulder + body.lengths["trunk"] * np.exp(1j * np.radians(lift))
    joints: Joints = {"hip_near": hip, "hip_far": hip}
    planted = np.broadcast_to(foot, hip.shape)
    add_leg(joints, body, "far", planted)
    rolls: tuple[Prop, ...] = ()
    if given.word("thigh_roll"):
        rolls = (_over_a_roll(given, joints),)
    elif "near_thigh" in given.values:
        _lift_leg(given, joints, "near")
        if given.word("both_legs"):
            _lift_leg(given, joints, "far")
    elif "near_slide" in given.values:
        add_leg(joints, body, "near", planted + given.path("near_slide") * body.stature)
    else:
        for part in ("knee", "ankle", "heel", "ball", "toe"):
            joints[f"{part}_near"] = joints[f"{part}_far"]
    trunk = (shoulder - hip) / body.lengths["trunk"]
    add_trunk(joints, body, trunk)
    _rest_head(joints, body.lengths["neck"], shoulder, low)
    add_arms(joints, given, np.full_like(trunk, -1.0))
    for part in ("elbow_near", "elbow_far"):
        # An elbow that would sink into the floor goes out to the side instead.
        elbow = joints[part]
        joints[part] = elbow.real + 1j * np.maximum(elbow.imag, 0.022 * body.stature)
    mat_end = np.full((given.settings, 1), shoulder.real - 0.2 * body.stature, dtype=np.complex128)
    props: tuple[Prop, ...] = (Prop("mat", mat_end, mat_end + 1.05 * body.stature),)
    props += rolls
    if base:
        edge = np.broadcast_to(foot, (given.settings, 1)) - 1j * body.ankle_height
        props += (Prop(given.word("feet_on"), edge - 0.06 * body.stature),)
    return finished(given, joints, props)


ROLL_THICK = 0.085  # a rolled towel under the thigh, statures
ROLL_AT = 0.82  # where it lies, share of the thigh


def _over_a_roll(given: PoseInput, joints: Joints) -> Prop:
    """The near thigh rests on a roll and stays there; the knee straightens by ``near_knee``."""
    body, hip = given.body, joints["hip_near"]
    thick = ROLL_THICK * body.stature
    up = np.arcsin((thick + 0.035 * body.stature - hip.imag) / (ROLL_AT * body.lengths["thigh"]))
    thigh = np.exp(1j * np.broadcast_to(up, hip.shape))
    shin = thigh * np.exp(-1j * np.radians(given.path("near_knee")))
    knee = hip + body.lengths["thigh"] * thigh
    joints["knee_near"], joints["ankle_near"] = knee, knee + body.lengths["shank"] * shin
    points = foot_points(body, joints["ankle_near"], shin * 1j * np.exp(-0.25j))
    joints["heel_near"], joints["ball_near"], joints["toe_near"] = points
    at = (hip + ROLL_AT * body.lengths["thigh"] * thigh).real[:, :1]
    return Prop("roll", at + 0.5j * thick, size=thick)


def _rest_head(joints: Joints, neck: float, shoulder: complex, low: float) -> None:
    """The head stays on the floor whatever the hips do."""
    still = np.zeros_like(joints["neck"])
    joints["neck"] = still + shoulder - 0.3 * neck + 0.1j * low
    joints["crown"] = still + shoulder - neck + 0.35j * low
    joints["gaze"] = still + 1j


def _lift_leg(given: PoseInput, joints: Joints, side: str) -> None:
    body = given.body
    thigh: Points = np.exp(1j * np.radians(given.path("near_thigh")))
    shin: Points = thigh * np.exp(-1j * np.radians(given.path("near_knee")))
    sole: Points = shin * 1j
    if not given.weighing:
        # The picture begins with the foot on the floor; the demand is that of the lifted leg.
        lifted = np.clip(share_of_way(given) / LIFTED_AT, 0.0, 1.0)
        planted = joints["knee_far"] - joints["hip_far"], joints["ankle_far"] - joints["knee_far"]
        thigh = _between(planted[0] / body.lengths["thigh"], thigh, lifted)
        shin = _between(planted[1] / body.lengths["shank"], shin, lifted)
        sole = _between(np.ones_like(sole), sole, lifted)
    joints[f"knee_{side}"] = joints[f"hip_{side}"] + body.lengths["thigh"] * thigh
    joints[f"ankle_{side}"] = joints[f"knee_{side}"] + body.lengths["shank"] * shin
    points = foot_points(body, joints[f"ankle_{side}"], sole)
    joints[f"heel_{side}"], joints[f"ball_{side}"], joints[f"toe_{side}"] = points


def _between(start: Points, end: Points, share: Reals) -> Points:
    """A direction turned by a share of the way from one to another."""
    return np.asarray(start * np.exp(1j * np.angle(end / start) * share))


def _straight_lift(given: PoseInput, shoulder: complex, foot: Points) -> Reals:
    """Degrees the trunk tips about the shoulders until shoulder, hip and knee are in line."""
    body = given.body
    grid = np.radians(np.linspace(0.0, KNEE_BEND_LIFT, 46))
    hip = shoulder + body.lengths["trunk"] * np.exp(1j * grid)
    targets = np.asarray(foot).reshape(-1, 1)
    knee, end = two_links(hip[None, :], targets, body.lengths["thigh"], body.lengths["shank"], 1)
    bend = np.angle((knee - hip[None, :]) * np.exp(-1j * grid)[None, :])
    reached = (bend <= 0.0) | (np.abs(end - targets) > 0.002)
    first = np.where(reached.any(axis=1), reached.argmax(axis=1), len(grid) - 1)
    return np.degrees(grid[first])[:, None]


def side_lying(given: PoseInput) -> Pose:
    """On the side, head to the left, seen from in front; the upper (near) leg lifts.

    Settings: near_lift (degrees above level), bent (word: knees bent, feet together, only the
    knee opens), arms are placed by the pose.
    """
    body = given.body
    zero = np.zeros_like(given.progress, dtype=np.complex128)
    half = HIP_JOINT_HALF * body.stature
    wide = SHOULDER_HALF_WIDTH * body.stature
    middle = 1j * HIP_HALF_WIDTH * body.stature + zero
    joints: Joints = {"hip_near": middle + 1j * half, "hip_far": middle - 1j * half}
    lift = np.exp(1j * np.radians(given.path("near_lift", 0.0)))
    for side, way in (("near", lift), ("far", np.ones_like(lift))):
        hip = joints[f"hip_{side}"]
        if given.word("bent"):
            # Thighs come forward out of the picture: they look shorter from in front.
            seen = 0.55
            knee = hip + body.lengths["thigh"] * seen * way
            ankle = joints["hip_far"] + 1j * 0.3 * half + body.lengths["thigh"] * 1.05
        else:
            knee = hip + body.lengths["thigh"] * way
            ankle = knee + body.lengths["shank"] * way
        joints[f"knee_{side}"] = knee
        joints[f"ankle_{side}"] = zero + ankle
        tip = way * np.exp(-1j * np.radians(8.0))
        joints[f"heel_{side}"] = joints[f"ankle_{side}"] + 0.035 * body.stature * way
        joints[f"ball_{side}"] = joints[f"ankle_{side}"] + 0.05 * body.stature * tip
        joints[f"toe_{side}"] = joints[f"ankle_{side}"] + 0.06 * body.stature * tip
    neck = middle - body.lengths["trunk"]
    joints["shoulder_near"], joints["shoulder_far"] = neck + 1j * wide, neck - 0.75j * wide
    joints["neck"] = neck - 0.25 * body.lengths["neck"]
    joints["crown"] = joints["neck"] - 0.75 * body.lengths["neck"] + 0.02j * body.stature
    joints["gaze"] = zero
    arm, fore = body.lengths["upper_arm"], body.lengths["forearm"]
    # The upper hand rests on the floor in front, the lower arm lies under the head.
    rests = neck + 0.24 * body.stature + 0.03j * body.stature
    elbow, wrist = two_links(joints["shoulder_near"], rests, arm, fore, -1)
    joints["elbow_near"], joints["wrist_near"] = elbow, wrist
    joints["fingers_near"] = wrist + body.lengths["hand"]
    joints["elbow_far"] = joints["shoulder_far"] - arm * 0.98 + 0.0j
    joints["wrist_far"] = joints["elbow_far"] - fore * 0.6
    joints["fingers_far"] = joints["wrist_far"] - body.lengths["hand"] * 0.8
    mat = np.full((given.settings, 1), neck[0, 0].real - 0.45 * body.stature, dtype=np.complex128)
    props = (Prop("mat", mat, mat + 1.45 * body.stature),)
    return finished(given, joints, props, view=View.FRONT)
