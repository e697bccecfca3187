"""The upper body of a pose: trunk, head and both arms from the hip up.

An arm is placed by naming where its wrist goes; the elbow follows by inverse kinematics.
"""

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from core.body import Body
from core.pose import SIDES, Points, Reals, two_links
from core.pose_input import HAND_SUPPORT, PoseInput

Joints = dict[str, Points]

ARM_PLACES = (
    "hang",
    "beside",
    "forward",
    "raised",
    "crossed",
    "chest",
    "hips",
    "thighs",
    "knees",
    "ribs",
    "ears",
    "overhead",
    "along",
    "back",
    "shins",
    "behind_head",
    "out",
    "hold",
)
"""Names a movement file may give a wrist; ``hold`` is the grip of the pose's own furniture, and
``out`` (sideways) is for poses seen from in front."""


def wrist_place(
    place: str, body: Body, joints: Mapping[str, Points], trunk: Points, side: str
) -> Points:
    """Where the wrist is for one named place, given shoulder, hip, knee and trunk direction."""
    shoulder, hip = joints[f"shoulder_{side}"], joints[f"hip_{side}"]
    front = trunk * -1j
    arm, tall = body.arm, body.stature
    if place == "hang":
        return shoulder - 0.985j * arm
    if place == "beside":
        return shoulder - trunk * 0.97 * arm - front * 0.02 * tall
    if place == "forward":
        return shoulder + (0.97 - 0.10j) * arm
    if place == "raised":
        return shoulder + (0.80 + 0.55j) * arm
    if place == "crossed":
        return shoulder - trunk * 0.05 * tall + front * 0.085 * tall
    if place == "chest":
        return shoulder - trunk * 0.075 * tall + front * 0.105 * tall
    if place == "hips":
        return hip + trunk * 0.045 * tall + front * 0.02 * tall
    if place == "ribs":
        return shoulder - trunk * 0.155 * tall + front * 0.012 * tall
    if place == "ears":
        return shoulder + trunk * 0.015 * tall + front * 0.09 * tall
    if place == "overhead":
        return shoulder + trunk * 0.975 * arm + front * 0.06 * arm
    if place == "along":
        return shoulder - trunk * 0.975 * arm
    if place == "back":
        return shoulder - trunk * 0.88 * arm - front * 0.36 * arm
    if place == "behind_head":
        return shoulder + trunk * 0.07 * tall - front * 0.005 * tall
    return _wrist_on_leg(place, body, joints, side)


def _wrist_on_leg(place: str, body: Body, joints: Mapping[str, Points], side: str) -> Points:
    hip, knee = joints[f"hip_{side}"], joints[f"knee_{side}"]
    thigh = (knee - hip) / np.maximum(np.abs(knee - hip), 1e-9)
    above = thigh * 1j * 0.055 * body.stature
    if place == "thighs":
        return hip + thigh * 0.62 * body.lengths["thigh"] + above
    if place == "knees":
        return knee - thigh * 0.02 * body.stature + above
    if place == "shins":
        ankle = joints[f"ankle_{side}"]
        return knee + (ankle - knee) * 0.55 + (ankle - knee) * 0.12j
    raise ValueError(f"no such place for a wrist: {place}")


def add_trunk(joints: Joints, body: Body, trunk: Points, nod: Reals | float = 0.0) -> None:
    """Adds shoulders, neck and crown above the hips of ``joints``; ``nod`` tips the head, degrees.

    The head follows half of the trunk's lean, so that the face looks ahead.
    """
    middle = (joints["hip_near"] + joints["hip_far"]) / 2 + body.lengths["trunk"] * trunk
    for side in SIDES:
        joints[f"shoulder_{side}"] = middle
    upright = np.angle(trunk / 1j)
    head = trunk * np.exp(-1j * (np.clip(upright, -1.2, 1.2) * 0.45 + np.radians(nod)))
    joints["neck"] = middle + trunk * 0.3 * body.lengths["neck"]
    joints["crown"] = joints["neck"] + head * 0.7 * body.lengths["neck"]
    joints["gaze"] = head * -1j


def add_arms(
    joints: Joints, given: PoseInput, trunk: Points, holds: Mapping[str, Points] | None = None
) -> None:
    """Adds elbows, wrists and fingers, as ``arms`` or ``near_arm`` and ``far_arm`` name them."""
    body = given.body
    placed: dict[tuple[str, str, str], tuple[Points, Points, Points]] = {}
    for side in SIDES:
        start, end = (
            given.words(f"{side}_arm", "")
            if f"{side}_arm" in given.values
            else (given.words("arms", "beside"))
        )
        root = joints[f"shoulder_{side}"]
        twin = (start, end, "" if joints["knee_near"] is joints["knee_far"] else side)
        if twin not in placed or holds is not None:
            places = [
                holds[side]
                if name == "hold" and holds is not None
                else wrist_place(name, body, joints, trunk, side)
                for name in (start, end)
            ]
            wrist = places[0] + (places[1] - places[0]) * given.progress
            if holds is not None:
                wrist = np.where(hand_holds(given, side), holds[side], wrist)
            sign = 1 if "back" in (start, end) and start == end else -1
            elbow, wrist = two_links(
                root, wrist, body.lengths["upper_arm"], body.lengths["forearm"], sign
            )
            along = (wrist - elbow) / body.lengths["forearm"]
            placed[twin] = (elbow, wrist, wrist + along * body.lengths["hand"])
        elbow, wrist, fingers = placed[twin]
        joints[f"elbow_{side}"] = elbow
        joints[f"wrist_{side}"] = wrist
        joints[f"fingers_{side}"] = fingers


def hand_holds(given: PoseInput, side: str) -> NDArray[np.bool_]:
    """Whether this hand is on the furniture: the support dial says so, shape (settings, 1).

    Fingertips and one hand are the far hand, beside the standing leg; two hands are both.
    """
    if "support" not in given.dials or not given.word("hold"):
        return np.zeros((given.settings, 1), dtype=np.bool_)
    least = HAND_SUPPORT["two_hands" if side == "near" else "fingertips"]
    return np.asarray(given.dials["support"] >= least - 1e-9)


def held_kilograms(given: PoseInput) -> dict[str, Reals | float]:
    """Kilograms in each hand: the ``load`` dial in both hands, one, or shared by two."""
    load = given.number("load")
    hands = given.word("load_in", "both")
    if hands == "shared":
        return {"near": load / 2, "far": load / 2}
    return {"near": load, "far": load if hands == "both" else 0.0}
