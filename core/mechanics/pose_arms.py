"""The upper body of a pose: trunk, head and both arms from the hip up.

An arm is placed by naming where its wrist goes; the elbow follows by inverse kinematics.
"""

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from core.mechanics.body import Body
from core.mechanics.pose import SIDES, Points, Reals, two_links
from core.mechanics.pose_input import HAND_SUPPORT, PoseInput

Joints = dict[str, Points]

HIGH_UP = 0.30  # how far hands slide up a wall, statures

ARM_PLACES = (
    "hang",
    "beside",
    "forward",
    "crossed",
    "chest",
    "hips",
    "belly",
    "lap",
    "thighs",
    "knees",
    "seat",
    "ribs",
    "ears",
    "overhead",
    "along",
    "back",
    "out",
    "across",
    "holds_elbow",
    "before",
    "elbows_in",
    "turned_out",
    "hold",
    "hold_high",
)
"""Names a movement file may give a wrist; ``hold`` is the grip of the pose's own furniture
(``hold_high`` further up a wall); ``out`` (sideways), ``across`` (to the other shoulder) and
``holds_elbow`` (of the arm across), ``before`` (straight ahead), ``elbows_in`` (forearms ahead, the
elbows in the ribs) and ``turned_out`` (the same, turned out) are for poses seen from in front."""


def wrist_place(
    place: str, body: Body, joints: Mapping[str, Points], trunk: Points, side: str
) -> Points:
    """Where the wrist is for one named place, given shoulder, hip, knee and trunk direction.

    Raises:
        KeyError: there is no such place in side view.
    """
    if place in ON_LEG:
        return _wrist_on_leg(place, body, joints, side)
    shoulder = joints[f"hip_{side}" if place in FROM_HIP else f"shoulder_{side}"]
    front = trunk * -1j
    if place in BY_ARM_LENGTH:
        world, up, ahead = BY_ARM_LENGTH[place]
        return np.asarray(shoulder + body.arm * (world + trunk * up + front * ahead))
    up, ahead = BY_STATURE[place]
    return np.asarray(shoulder + body.stature * (trunk * up + front * ahead))


# From the shoulder, in arm lengths: in the room (x + iy), along the trunk, to the front.
BY_ARM_LENGTH: Mapping[str, tuple[complex, float, float]] = {
    "hang": (-0.985j, 0.0, 0.0),
    "beside": (0j, -0.97, -0.06),
    "forward": (0.97 - 0.10j, 0.0, 0.0),
    "overhead": (0j, 0.975, 0.06),
    "along": (0j, -0.975, 0.0),
    "back": (0j, -0.88, -0.36),
}

FROM_HIP = ("hips", "belly", "lap", "seat")

# From the shoulder (``FROM_HIP``: from the hip), in statures: along the trunk, to the front.
BY_STATURE: Mapping[str, tuple[float, float]] = {
    "crossed": (-0.07, 0.05),
    "chest": (-0.075, 0.105),
    "hips": (0.045, 0.02),
    "belly": (0.085, 0.032),
    "lap": (0.03, 0.085),
    "seat": (-0.02, 0.03),
    "ribs": (-0.155, 0.012),
    "ears": (-0.03, 0.105),
}

ON_LEG = ("thighs", "knees")


def _wrist_on_leg(place: str, body: Body, joints: Mapping[str, Points], side: str) -> Points:
    hip, knee = joints[f"hip_{side}"], joints[f"knee_{side}"]
    thigh = (knee - hip) / np.maximum(np.abs(knee - hip), 1e-9)
    above = thigh * 1j * 0.055 * body.stature
    if place == "thighs":
        return np.asarray(hip + thigh * 0.62 * body.lengths["thigh"] + above)
    return np.asarray(knee - thigh * 0.02 * body.stature + above)


def add_trunk(
    joints: Joints,
    body: Body,
    trunk: Points,
    nod: Reals | float = 0.0,
    draw_back: Reals | float = 0.0,
) -> None:
    """Adds shoulders, neck and crown above the hips of ``joints``.

    ``nod`` tips the head, degrees; ``draw_back`` slides it straight back, statures.

    The head follows half of the trunk's lean, so that the face looks ahead.
    """
    middle = (joints["hip_near"] + joints["hip_far"]) / 2 + body.lengths["trunk"] * trunk
    for side in SIDES:
        joints[f"shoulder_{side}"] = middle
    upright = np.angle(trunk / 1j)
    head = trunk * np.exp(-1j * (np.clip(upright, -1.2, 1.2) * 0.45 + np.radians(nod)))
    back = trunk * 1j * draw_back * body.stature
    joints["neck"] = middle + trunk * 0.3 * body.lengths["neck"] + back
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
                holds[side] + (HIGH_UP * body.stature * 1j if name == "hold_high" else 0.0)
                if name.startswith("hold") and holds is not None
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
    support = given.dials["support"]
    if side == "far":
        return np.asarray(support > 0.0)
    both = (HAND_SUPPORT["two_hands"], HAND_SUPPORT["press"])
    return np.asarray(np.isin(np.round(support, 6), both))


def held_kilograms(given: PoseInput) -> dict[str, Reals | float]:
    """Kilograms in each hand: the ``load`` dial in both hands, one, or shared by two."""
    load = given.number("load")
    hands = given.word("load_in", "both")
    if hands == "shared":
        return {"near": load / 2, "far": load / 2}
    return {"near": load, "far": load if hands == "both" else 0.0}
