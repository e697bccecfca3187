"""Straight-body poses on hands and toes or knees, and all fours, from the side.

The straight body turns about the ball of the foot, or about the shin just below the knee. At the
start the arms are straight; how they slant between upright and square to the trunk is the one
number that was fitted, to all rows of Ebben 2011, Suprak 2011, Gouvali and Boudolos 2005 and Mier
2014 together.
"""

from functools import lru_cache

import numpy as np

from core.mechanics.body import FOOT_LENGTH, HEEL_BEHIND_ANKLE, HEEL_TO_BALL, Body
from core.mechanics.pose import Points, Pose, PoseRefusal, Prop, Reals, foot_points, two_links
from core.mechanics.pose_arms import Joints, wrist_place
from core.mechanics.pose_input import PoseInput
from core.mechanics.pose_props import finished

ARM_SLANT = 0.5
"""Arms at the start: 0 upright, 1 square to the trunk (fitted, see above)."""

STEEP_FROM, STEEP_TO = 50.0, 82.0
"""Between these degrees of the body the arms go over to square, as against a wall."""

KNEE_CONTACT = (0.03, 0.03)
"""Kneeling contact: below the knee joint along the shin, and in front of it, in statures."""

WRIST_ABOVE = 0.02  # wrist joint above the surface under a flat hand, statures
ELBOW_DEPTH = 0.5  # shoulder above the wrists at the bottom, in upper arms
LEAST_WALL_TILT = 40.0  # degrees of the body against a wall, at least
LOWEST_TILT, STEEPEST_TILT = -25.0, 86.0  # degrees of the body that are searched


def contact_of(body: Body, pivot: str) -> complex:
    """What the straight body turns about, with the ankle at 0 and the shoulder along +x.

    The front of the body looks to -y.
    """
    if pivot == "knees":
        below, ahead = KNEE_CONTACT
        return body.lengths["shank"] - below * body.stature - 1j * ahead * body.stature
    length = FOOT_LENGTH * body.stature
    return -body.ankle_height - 1j * (HEEL_TO_BALL - HEEL_BEHIND_ANKLE) * length


def arm_direction(tilt: Reals) -> Points:
    """Direction from hand to shoulder of straight arms, for a body tilted by radians."""
    steep = np.radians([STEEP_FROM, STEEP_TO])
    over = np.clip((tilt - steep[0]) / (steep[1] - steep[0]), 0.0, 1.0)
    slant = ARM_SLANT + (1.0 - ARM_SLANT) * over
    return np.asarray(1j * np.exp(1j * slant * tilt))


@lru_cache(maxsize=512)
def _start_table(body: Body, pivot: str, arm: float) -> tuple[Reals, Reals]:
    """(hand height over the pivot's floor, tilt in radians) of straight-arm starts."""
    tilt = np.radians(np.linspace(LOWEST_TILT, STEEPEST_TILT, 223))
    reach = body.leg + body.lengths["trunk"] - contact_of(body, pivot)
    hand = reach * np.exp(1j * tilt) - arm * arm_direction(tilt)
    return hand.imag, tilt


def plank(given: PoseInput) -> Pose:
    """Hands on a surface, body straight from shoulders to the pivot; elbows bend.

    Settings: pivot (toes, knees), surface (furniture or nothing for the floor), feet_on
    (furniture under the toes), forearms (word: on the forearms), still (word: the elbows do not
    bend), distance (feet from the wall in foot lengths, with ``surface: wall``), far_arm (hold,
    or a place at the trunk, or both), far_back (degrees the far leg lifts behind the body, a pair).
    """
    body = given.body
    pivot = given.word("pivot", "toes")
    refused = given.nothing_refused()
    contact = contact_of(body, pivot)
    shoulder_at = body.leg + body.lengths["trunk"] - contact
    foot_floor = given.surface(given.word("feet_on")) if given.word("feet_on") else 0.0
    above = 0.035 * body.stature if given.word("forearms") else WRIST_ABOVE * body.stature
    still = bool(given.word("forearms") or given.word("still"))
    arm = body.lengths["upper_arm"] if given.word("forearms") else 0.995 * body.arm
    if given.word("surface") == "wall":
        tilt, hand = _at_wall(given, refused, shoulder_at)
    else:
        height = given.surface(given.word("surface")) + above - foot_floor
        heights, tilts = _start_table(body, pivot, arm)
        if height > heights[-1] - 0.02:
            refused[:] = PoseRefusal.SURFACE_TOO_HIGH
        if height < heights[0]:
            refused[:] = PoseRefusal.SURFACE_TOO_LOW
        start = np.interp(height, heights, tilts)
        shoulder = shoulder_at * np.exp(1j * start)
        hand_point = shoulder - arm * arm_direction(np.asarray(start))
        hand = np.full_like(given.progress, hand_point.real) + 1j * height
        low = np.minimum(ELBOW_DEPTH * body.lengths["upper_arm"], shoulder.imag - height)
        drop = 0.0 if still else (shoulder.imag - height - low)
        y = shoulder.imag - drop * given.progress
        tilt = np.arcsin(np.clip(y / abs(shoulder_at), -1, 1)) - np.angle(shoulder_at)
    base = 1j * foot_floor
    joints = _straight_body(body, pivot, contact, tilt, base)
    hand = hand + base
    if given.word("forearms"):
        _on_forearms(body, joints, hand)
    else:
        fore, upper = body.lengths["forearm"], body.lengths["upper_arm"]
        elbow, wrist = two_links(joints["shoulder_near"], hand, upper, fore, -1)
        flat = 1j if given.word("surface") == "wall" else 1.0
        for side in ("near", "far"):
            joints[f"elbow_{side}"], joints[f"wrist_{side}"] = elbow, wrist
            joints[f"fingers_{side}"] = wrist + body.lengths["hand"] * flat
    if "far_back" in given.values:
        _lift_far_leg(given, joints)
    if "far_arm" in given.values:
        _free_far_hand(given, joints)
    return finished(given, joints, _plank_props(given, hand, above, foot_floor), refused=refused)


def _at_wall(
    given: PoseInput, refused: "np.ndarray[tuple[int, ...], np.dtype[np.str_]]", reach: complex
) -> tuple[Reals, Points]:
    """Leaning on a wall: feet some foot lengths away, hands at shoulder height at the start."""
    body = given.body
    away = np.asarray(given.number("distance", 2.5)) * FOOT_LENGTH * body.stature
    arm = 0.985 * body.arm
    wall = np.broadcast_to(away + contact_ahead(body), (given.settings, 1))
    # At the start the shoulders are an arm's length from the wall, hands level with them.
    gap = wall - body.stature * WRIST_ABOVE - arm
    start = np.arccos(np.clip(gap / abs(reach), -1.0, 1.0)) - np.angle(reach)
    tilted = (start > np.radians(LEAST_WALL_TILT)) & (start < np.radians(STEEPEST_TILT + 3.0))
    refused[~tilted[:, 0]] = PoseRefusal.OUT_OF_REACH
    start = np.clip(start, np.radians(LEAST_WALL_TILT), np.radians(89.0))
    shoulder = reach * np.exp(1j * start)
    hand = wall - body.stature * WRIST_ABOVE + 1j * (shoulder.imag - 0.02 * body.stature)
    hand = np.broadcast_to(hand, given.progress.shape)
    near = 0.42 * body.lengths["upper_arm"] + body.stature * WRIST_ABOVE
    bending = 0.0 if given.word("still") else 1.0
    x = shoulder.real + (wall - near - shoulder.real) * given.progress * bending
    tilt = np.arccos(np.clip(x / abs(reach), -1, 1)) - np.angle(reach)
    return tilt, hand


def contact_ahead(body: Body) -> float:
    """The ball of the foot is where a foot's distance is counted from the toes, m."""
    return (1.0 - HEEL_TO_BALL) * FOOT_LENGTH * body.stature


def _straight_body(body: Body, pivot: str, contact: complex, tilt: Reals, base: complex) -> Joints:
    turn = np.exp(1j * tilt)
    along = {"ankle": 0.0, "knee": body.lengths["shank"], "hip": body.leg}
    joints: Joints = {}
    for side in ("near", "far"):
        for joint, distance in along.items():
            joints[f"{joint}_{side}"] = (distance - contact) * turn + base
        joints[f"shoulder_{side}"] = (body.leg + body.lengths["trunk"] - contact) * turn + base
        if pivot == "knees":
            # Shins lie on the floor behind the knees, feet pointed.
            back = joints[f"knee_{side}"]
            low = 1j * 0.025 * body.stature
            joints[f"ankle_{side}"] = back.real - body.lengths["shank"] * 0.995 + low
            sole = np.exp(-1j * np.radians(150.0)) * np.ones_like(turn)
            heel, ball, toe = foot_points(body, joints[f"ankle_{side}"], sole)
        else:
            heel, ball, toe = foot_points(body, joints[f"ankle_{side}"], -1j * turn, 1.0 + 0j)
        joints[f"heel_{side}"], joints[f"ball_{side}"], joints[f"toe_{side}"] = heel, ball, toe
    shoulder = joints["shoulder_near"]
    joints["neck"] = shoulder + 0.3 * body.lengths["neck"] * turn
    head = turn * np.exp(1j * np.clip(np.pi / 2 - tilt, 0.0, 0.35))
    joints["crown"] = joints["neck"] + 0.7 * body.lengths["neck"] * head
    joints["gaze"] = head * -1j
    return joints


def _lift_far_leg(given: PoseInput, joints: Joints) -> None:
    """The far leg, straight, swings up behind the body about its hip."""
    hip = joints["hip_far"]
    turn = np.exp(-1j * np.radians(given.path("far_back")))
    for joint in ("knee_far", "ankle_far", "heel_far", "ball_far", "toe_far"):
        joints[joint] = hip + (joints[joint] - hip) * turn


def _free_far_hand(given: PoseInput, joints: Joints) -> None:
    """The far hand is, or goes, where ``far_arm`` says: on the surface (hold) or at the trunk."""
    body, shoulder = given.body, joints["shoulder_far"]
    trunk = (shoulder - joints["hip_far"]) / body.lengths["trunk"]
    start, end = (
        joints["wrist_far"] if name == "hold" else wrist_place(name, body, joints, trunk, "far")
        for name in given.words("far_arm", "hold")
    )
    wanted: Points = np.asarray(start + (end - start) * given.progress)
    upper, fore = body.lengths["upper_arm"], body.lengths["forearm"]
    elbow, wrist = two_links(shoulder, wanted, upper, fore, -1)
    joints["elbow_far"], joints["wrist_far"] = elbow, wrist
    along = (wrist - elbow) / fore
    joints["fingers_far"] = wrist + body.lengths["hand"] * along


def _on_forearms(body: Body, joints: Joints, hand: Points) -> None:
    for side in ("near", "far"):
        joints[f"elbow_{side}"] = hand
        joints[f"wrist_{side}"] = hand + body.lengths["forearm"]
        joints[f"fingers_{side}"] = joints[f"wrist_{side}"] + body.lengths["hand"]


CHAIR_TO_WALL = 0.45  # from the front edge of a seat to the wall behind its back, m


def _plank_props(
    given: PoseInput, hand: Points, above: float, foot_floor: float
) -> tuple[Prop, ...]:
    surface = given.word("surface")
    first = hand[:, :1]
    # On a seat the hands are at the front edge: the face needs the room before the chair's back.
    margin = (0.015 if surface == "chair" else 0.06) * given.body.stature
    props: tuple[Prop, ...] = ()
    if surface == "wall":
        props = (Prop("wall", first.real + WRIST_ABOVE * given.body.stature + 0j),)
    elif surface:
        props = (Prop(surface, first - margin - 1j * above),)
    if given.word("wall_behind"):
        props += (Prop("wall", first.real - margin + CHAIR_TO_WALL + 0j),)
    if foot_floor:
        props += (Prop(given.word("feet_on"), margin + 1j * foot_floor + 0 * first, facing=-1),)
    return props


def all_fours(given: PoseInput) -> Pose:
    """Hands under the shoulders, knees under the hips; an arm or the opposite leg may reach out.

    Settings: near_arm_lift, far_leg_lift (0 on the floor, 1 level), round (degrees the back of
    the neck drops), arms are placed by the pose.
    """
    body = given.body
    hip_y = body.lengths["thigh"] + 0.03 * body.stature
    shoulder_y = 0.98 * body.arm + WRIST_ABOVE * body.stature
    rise = np.arcsin(np.clip((shoulder_y - hip_y) / body.lengths["trunk"], -0.9, 0.9))
    zero = np.zeros_like(given.progress, dtype=np.complex128)
    hip = zero + 1j * hip_y
    trunk = np.exp(1j * rise)
    shoulder = hip + body.lengths["trunk"] * trunk
    joints: Joints = {"hip_near": hip, "hip_far": hip}
    joints["shoulder_near"] = joints["shoulder_far"] = shoulder
    hand = shoulder.real + 1j * WRIST_ABOVE * body.stature
    down = hand + zero
    reach = shoulder + body.arm * 0.98 * np.exp(0.06j)
    near_hand = down + (reach - down) * given.path("near_arm_lift")
    for side, target in (("near", near_hand), ("far", down)):
        elbow, wrist = two_links(
            shoulder, target, body.lengths["upper_arm"], body.lengths["forearm"], -1
        )
        joints[f"elbow_{side}"], joints[f"wrist_{side}"] = elbow, wrist
        joints[f"fingers_{side}"] = wrist + body.lengths["hand"]
    lift = given.path("far_leg_lift")
    for side, raised in (("near", np.zeros_like(lift)), ("far", lift)):
        thigh = -1j * np.exp(-1j * raised * np.pi / 2)
        shin = -np.exp(-0.03j * np.pi * (1 - raised)) * np.ones_like(thigh)
        joints[f"knee_{side}"] = hip + body.lengths["thigh"] * thigh
        joints[f"ankle_{side}"] = joints[f"knee_{side}"] + body.lengths["shank"] * shin
        sole = np.exp(-1j * np.radians(150.0)) * np.ones_like(thigh)
        sole = sole * np.exp(1j * np.radians(60.0) * raised)
        points = foot_points(body, joints[f"ankle_{side}"], sole)
        joints[f"heel_{side}"], joints[f"ball_{side}"], joints[f"toe_{side}"] = points
    nod = np.exp(1j * np.radians(given.path("round")) * -1)
    joints["neck"] = shoulder + 0.3 * body.lengths["neck"] * trunk
    joints["crown"] = joints["neck"] + 0.7 * body.lengths["neck"] * trunk * nod * np.exp(0.15j)
    joints["gaze"] = -1j * trunk * np.exp(0.15j) * np.ones_like(zero)
    mat = np.full((given.settings, 1), -0.42 * body.stature, dtype=np.complex128)
    return finished(given, joints, (Prop("mat", mat, mat + 0.95 * body.stature),))
