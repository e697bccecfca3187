"""Standing and seated poses seen from in front. Near is the drawn right: the person's left."""

import numpy as np

from core.mechanics.body import HIP_JOINT_HALF, SHOULDER_HALF_WIDTH
from core.mechanics.pose import Points, Pose, PoseRefusal, Prop, View, two_links
from core.mechanics.pose_arms import Joints, hand_holds
from core.mechanics.pose_feet import SEAT_TO_HIP, STRAIGHT, firm_near, hold_height
from core.mechanics.pose_input import PoseInput
from core.mechanics.pose_props import finished
from core.mechanics.pose_steps import step_up

NARROW = 0.82  # shoulder joints over the half breadth of the shoulders
AHEAD_OF_TRUNK = 0.035  # folded arms before the axis of a turning trunk, statures
FIRM_BESIDE = 0.27  # furniture to stand near and not hold, beside the middle, statures
STANCE = 0.055  # each foot beside the middle, standing at ease, statures


def front_stand(given: PoseInput) -> Pose:
    """Upright, seen from in front; the near leg may swing out or lift, the body may shift.

    Settings: near_out (degrees the near leg swings out), near_up (0 to 1: knee lifted towards
    the viewer), near_step (statures the near foot is set out), near_hitch (statures the near hip
    is pulled up, the leg straight), stance (each foot from the
    middle, statures), shift (statures the hips move over the far foot), turn (degrees the head
    turns to the near side), arms (hips, hold, out, hang), hold; wall_behind (word: she stands
    against a wall).
    """
    body = given.body
    tall = body.stature
    stance = np.asarray(given.number("stance", STANCE)) * tall
    shift = given.path("shift") * tall
    half = HIP_JOINT_HALF * tall
    step = given.path("near_step") * tall
    far_ankle = -stance - 0.0 * shift + 1j * body.ankle_height
    centre_x = -shift + step * 0.5
    reach = np.abs(centre_x - half - far_ankle.real)
    hip_y = body.ankle_height + np.sqrt(np.maximum((STRAIGHT * body.leg) ** 2 - reach**2, 0.01))
    joints: Joints = {
        "hip_near": centre_x + half + 1j * hip_y,
        "hip_far": centre_x - half + 1j * hip_y,
    }
    hitched = 1j * given.path("near_hitch") * tall
    joints["hip_near"] = joints["hip_near"] + hitched
    lift = given.path("near_up")
    out = given.path("near_out")
    _front_leg(given, joints, "far", far_ankle + 0 * lift, np.zeros_like(lift))
    if np.any(out):
        way = -1j * np.exp(1j * np.radians(out))
        hip = joints["hip_near"]
        joints["knee_near"] = hip + body.lengths["thigh"] * way
        joints["ankle_near"] = hip + body.leg * way * STRAIGHT
        _front_foot(given, joints, "near", way)
    else:
        near_ankle: Points = np.asarray(stance + step + 1j * body.ankle_height + hitched + 0 * lift)
        _front_leg(given, joints, "near", near_ankle, lift)
    _front_trunk(given, joints, centre_x + 1j * hip_y)
    props: tuple[Prop, ...] = ()
    if given.word("wall_behind"):
        props = (Prop("wall_beside", np.zeros((given.settings, 1), dtype=np.complex128)),)
    hold = given.word("hold")
    if hold:
        side = np.full((given.settings, 1), -_hold_beside(given), dtype=np.complex128)
        height = hold_height(given)
        # Held beside the standing leg, seen from its side.
        kind = f"{hold}_back" if hold == "chair" else hold
        props += (Prop(kind, side + 1j * height, facing=-1),)
    props += firm_near(given, -FIRM_BESIDE * given.body.stature, facing=-1)
    return finished(given, joints, props, view=View.FRONT)


SIDE_STEP_FOOT, SIDE_FLOOR_FOOT = 0.11, 0.07
"""Ankles beside the middle, statures: on the step, and on the floor."""
SHIFTED_AT = 0.25  # share of the movement in which the weight goes onto the step


def side_step_up(given: PoseInput) -> Pose:
    """Sideways beside a step: the near foot is on it, the body rises, the far foot hangs beside.

    Weighed as the step straight ahead, of which it has the height; drawn from in front.
    Settings: hold, arms (as ``front_stand``).
    """
    if given.weighing:
        return step_up(given)
    body, height = given.body, given.surface("step")
    tall, half = body.stature, HIP_JOINT_HALF * body.stature
    straight = STRAIGHT * body.leg
    shift = np.clip(given.progress / SHIFTED_AT, 0.0, 1.0)
    rise = np.clip((given.progress - SHIFTED_AT) / (1.0 - SHIFTED_AT), 0.0, 1.0)
    on_step = SIDE_STEP_FOOT * tall + 1j * (body.ankle_height + height)
    on_floor = -SIDE_FLOOR_FOOT * tall + 1j * body.ankle_height
    low = -0.3 * SIDE_FLOOR_FOOT * tall + 1j * (body.ankle_height + 0.99 * straight)
    over = 0.35 * SIDE_STEP_FOOT * tall + low.imag * 1j
    top = SIDE_STEP_FOOT * tall - 0.75 * half + 1j * (on_step.imag + straight)
    hip = low + (over - low) * shift + (top - over) * rise
    joints: Joints = {"hip_near": hip + half, "hip_far": hip - half}
    none = np.zeros_like(rise)
    _front_leg(given, joints, "near", on_step + 0 * hip, none)
    hangs = joints["hip_far"] - 1j * straight
    _front_leg(given, joints, "far", on_floor + (hangs - on_floor) * rise, none)
    _front_trunk(given, joints, hip)
    edge = np.full((given.settings, 1), 0.045 * tall + 1j * height)
    beside = np.full((given.settings, 1), -_hold_beside(given) + 1j * hold_height(given))
    props = (Prop("step", edge), Prop(given.word("hold"), beside, facing=-1))
    refused = step_up(given).refused
    return finished(given, joints, props, refused=refused, view=View.FRONT)


def front_sit(given: PoseInput) -> Pose:
    """Seated, seen from in front; the knees may open or the trunk may tip to a side.

    Settings: open (statures each knee moves out), side_lean (degrees), twist (degrees the trunk
    turns to the near side, the head with it), arms, cushion.
    """
    body = given.body
    tall = body.stature
    seat = given.surface("chair") + np.asarray(given.number("cushion")) / 100.0
    refused = given.nothing_refused()
    hip_y = seat + SEAT_TO_HIP * tall + np.zeros_like(given.progress)
    high = hip_y[:, 0] > body.ankle_height + body.lengths["shank"] + 0.08 * tall
    refused[high] = PoseRefusal.SEAT_TOO_HIGH
    refused[hip_y[:, 0] < 0.17 * tall] = PoseRefusal.SEAT_TOO_LOW
    half = HIP_JOINT_HALF * tall
    joints: Joints = {"hip_near": half + 1j * hip_y, "hip_far": -half + 1j * hip_y}
    opened = given.path("open") * tall
    for side, sign in (("near", 1), ("far", -1)):
        ankle = sign * (0.06 * tall + opened * 0.9) + 1j * body.ankle_height
        knee_y = body.ankle_height + body.lengths["shank"] * 0.985
        joints[f"knee_{side}"] = sign * (0.075 * tall + opened) + 1j * knee_y
        joints[f"ankle_{side}"] = ankle + 0j
        _front_foot(given, joints, side, np.full_like(ankle, -1j))
    _front_trunk(given, joints, 1j * hip_y)
    corner = np.full((given.settings, 1), -0.14 * tall) + 1j * given.surface("chair")
    return finished(
        given,
        joints,
        (Prop("chair_front", corner),),
        refused=refused,
        supported=1.0,
        view=View.FRONT,
    )


def _front_leg(
    given: PoseInput, joints: Joints, side: str, ankle: Points, lift: np.ndarray
) -> None:
    """A leg that stands, or whose knee is lifted towards the viewer (it looks shorter)."""
    body = given.body
    hip = joints[f"hip_{side}"]
    seen = np.cos(lift * np.radians(75.0))
    straight = (ankle - hip) / np.abs(ankle - hip)
    knee = hip + (ankle - hip) * body.lengths["thigh"] / body.leg
    raised = hip + straight * body.lengths["thigh"] * seen
    knee = knee + (raised - knee) * np.clip(lift * 4.0, 0.0, 1.0)
    hangs = knee - 1j * body.lengths["shank"] * STRAIGHT
    joints[f"knee_{side}"] = knee
    joints[f"ankle_{side}"] = ankle + (hangs - ankle) * np.clip(lift * 4.0, 0.0, 1.0)
    _front_foot(given, joints, side, np.full_like(joints[f"ankle_{side}"], -1j))


def _front_foot(given: PoseInput, joints: Joints, side: str, way: Points) -> None:
    """A foot seen from its toes: a short piece below the ankle."""
    ankle, body = joints[f"ankle_{side}"], given.body
    out = 1 if side == "near" else -1
    joints[f"heel_{side}"] = ankle + way * body.ankle_height
    toe = ankle + way * body.ankle_height + out * 0.022 * body.stature * way * 1j
    joints[f"ball_{side}"] = joints[f"toe_{side}"] = toe


def _front_trunk(given: PoseInput, joints: Joints, middle: Points) -> None:
    body = given.body
    tall = body.stature
    trunk = 1j * np.exp(-1j * np.radians(given.path("side_lean")))
    top = middle + body.lengths["trunk"] * trunk
    twist = np.radians(given.path("twist"))
    # Seen from in front, shoulders that turn come nearer to each other.
    wide = SHOULDER_HALF_WIDTH * tall * NARROW * np.cos(twist)
    joints["shoulder_near"] = top + wide * trunk * -1j
    joints["shoulder_far"] = top - wide * trunk * -1j
    joints["neck"] = top + 0.3 * body.lengths["neck"] * trunk
    joints["crown"] = top + body.lengths["neck"] * trunk
    head = np.radians(given.path("turn")) + twist
    joints["gaze"] = np.sin(head) + 1j * np.sin(twist) + 0 * trunk
    upper, fore = body.lengths["upper_arm"], body.lengths["forearm"]
    for side, out in (("near", 1), ("far", -1)):
        name = f"{side}_arm" if f"{side}_arm" in given.values else "arms"
        ends = [
            _front_wrist(given, joints, side, out, place) for place in given.words(name, "hips")
        ]
        wrist: Points = np.asarray(ends[0] + (ends[1] - ends[0]) * given.progress)
        if given.word("hold"):
            on_hold = _front_wrist(given, joints, side, out, "hold")
            wrist = np.asarray(np.where(hand_holds(given, side), on_hold, wrist))
        # What is before the trunk goes to the side with it.
        wrist = wrist + AHEAD_OF_TRUNK * tall * np.sin(twist)
        if set(given.words(name, "hips")) & set(TO_VIEWER):
            elbow = _elbow_to_viewer(given, joints, side, name, wrist)
        else:
            elbow, wrist = two_links(joints[f"shoulder_{side}"], wrist, upper, fore, -out)
        joints[f"elbow_{side}"], joints[f"wrist_{side}"] = elbow, wrist
        along = (wrist - elbow) / fore
        joints[f"fingers_{side}"] = wrist + body.lengths["hand"] * 0.8 * along


TO_VIEWER = ("before", "elbows_in")
"""Places of hands held towards the viewer: the arm looks shorter than it is."""


def _elbow_to_viewer(
    given: PoseInput, joints: Joints, side: str, name: str, wrist: Points
) -> Points:
    """The elbow of an arm that looks shorter: in the ribs, or on the line from shoulder to hand."""
    shoulder, body = joints[f"shoulder_{side}"], given.body
    if "before" in given.words(name, "hips"):
        share = body.lengths["upper_arm"] / body.arm
        return np.asarray(shoulder + (wrist - shoulder) * share)
    return np.asarray(shoulder - 0.98j * body.lengths["upper_arm"] + 0 * wrist)


def _hold_beside(given: PoseInput) -> float:
    """How far beside the middle the furniture stands, m: out of the way, and within reach."""
    body = given.body
    shoulder = body.ankle_height + STRAIGHT * body.leg + body.lengths["trunk"]
    drop = shoulder - hold_height(given)
    reach = np.sqrt(max((0.95 * body.arm) ** 2 - drop**2, (0.2 * body.arm) ** 2))
    half = SHOULDER_HALF_WIDTH * NARROW * body.stature
    return float(min(0.32 * body.stature, half + reach))


def _front_wrist(given: PoseInput, joints: Joints, side: str, out: int, place: str) -> Points:
    body = given.body
    shoulder, hip = joints[f"shoulder_{side}"], joints[f"hip_{side}"]
    tall = body.stature
    if place == "hold":
        beside = _hold_beside(given) - 0.02 * tall
        return np.full_like(shoulder, out * beside + 1j * hold_height(given))
    if place == "hips":
        return hip + out * 0.035 * tall + 0.055j * tall
    if place == "out":
        return np.asarray(shoulder + out * body.arm * 0.985 * np.exp(-1j * out * 0.12))
    if place == "overhead":
        return np.asarray(shoulder + body.arm * 0.97 * np.exp(1j * (np.pi / 2 - out * 0.12)))
    if place == "ears":
        return shoulder + out * 0.05 * tall + 0.03j * tall
    if place == "crossed":
        return shoulder - out * 0.17 * tall - 0.06j * tall
    if place == "across":
        return (
            np.asarray(joints["shoulder_far" if side == "near" else "shoulder_near"]) - 0.05j * tall
        )
    if place == "before":
        return np.asarray(shoulder - out * 0.05 * tall - 0.02j * tall)
    if place == "elbows_in":
        return np.asarray(
            shoulder - out * 0.05 * tall - 1j * (0.98 * body.lengths["upper_arm"] - 0.02 * tall)
        )
    if place == "turned_out":
        return np.asarray(
            shoulder
            + out * 0.85 * body.lengths["forearm"]
            - 1j * (0.98 * body.lengths["upper_arm"] - 0.02 * tall)
        )
    if place == "holds_elbow":
        return (
            np.asarray(joints["shoulder_near"] * 0.42 + joints["shoulder_far"] * 0.58)
            - 0.075j * tall
        )
    if place == "thighs":
        return joints[f"knee_{side}"] + 0.06j * tall
    return shoulder + out * 0.03 * tall - 0.975j * body.arm
