"""Furniture that people hold on to where it stands: stairs with a rail, a chair before someone seen
from in front, a bench or chair beside someone seen from the side.
"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from core.figure.contact import FIST, PALM, bend_arm
from core.figure.prop_sizes import CHAIR_BACK
from core.figure.skeleton import PlacedProp, Skeleton
from core.mechanics.pose import View

HALF_CHAIR = 21.0  # cm, half the width of a chair
RAIL_AHEAD = 0.62  # of an arm's length: where a hand holds a handrail, ahead of the shoulder
RAIL_ABOVE_HIP = 12.0  # cm


def on_stairs(bones: Skeleton, found: Sequence[Skeleton], *, both: bool) -> Skeleton:
    """Stairs have the wall beside them, with a handrail; a second rail where both hands hold on."""
    arm = abs(bones["elbow_far"] - bones["shoulder_far"]) + abs(
        bones["wrist_far"] - bones["elbow_far"]
    )
    ahead = RAIL_AHEAD * arm
    start, end = (
        b.shoulders.real + ahead + 1j * (b.hips.imag + RAIL_ABOVE_HIP * b.scale)
        for b in (found[0], found[-1])
    )
    slope = (end - start) / max(abs(end - start), 1e-6)
    if slope.real < 0.3:
        slope = 0.8 + 0.6j
    at = start + slope * (bones.shoulders.real + ahead - start.real) / slope.real
    joints = dict(bones.joints)
    low, high = start - slope * 30.0, end + slope * 28.0
    rails = [PlacedProp("rail", low, high, 0.0, -1)]
    sides = ["far"]
    if both:
        rails.append(PlacedProp("rail", low, high, 0.0, 1))
        sides.append("near")
    else:
        bend_arm(joints, "near", joints["shoulder_near"] - arm * (0.06 + 0.97j))
    for side in sides:
        # The fist closes round the rail a little beyond the wrist.
        towards = at - joints[f"shoulder_{side}"]
        bend_arm(joints, side, at - FIST * bones.scale * towards / abs(towards))
    props = tuple(replace(p, kind="wall_beside") if p.kind == "wall" else p for p in bones.props)
    return replace(bones, joints=joints, props=(*props, *rails))


def both_hands_before(bones: Skeleton, *, both: bool) -> bool:
    """Whether someone seen from in front holds a chair with both hands: it stands before her."""
    return bones.view is View.FRONT and both and bones.prop("chair_back") is not None


def behind_chair(bones: Skeleton) -> Skeleton:
    """The chair before her, seen from in front, and both hands on its back."""
    chair = bones.prop("chair_back")
    assert chair is not None  # noqa: S101 # asked before
    seat = chair.at.imag - CHAIR_BACK
    props = tuple(
        replace(p, kind="chair_before", at=-HALF_CHAIR + 1j * seat) if p is chair else p
        for p in bones.props
    )
    joints = dict(bones.joints)
    for side, out in (("near", 1), ("far", -1)):
        bend_arm(joints, side, out * 0.62 * HALF_CHAIR + 1j * (chair.at.imag + 3.0))
    return replace(bones, joints=joints, props=props)


BESIDE_AHEAD = 12.0  # a hand on something beside the body, ahead of the shoulder, cm
BESIDE = {"bench": ("bench_beside", 150.0), "table": ("table_beside", 60.0)}
"""What stands beside someone, and how far it goes on to both sides, cm."""


def beside(found: Sequence[Skeleton], *, held: bool) -> tuple[Skeleton, ...]:
    """What was held ahead stands on the far side of the person, along the way she faces.

    The far hand lies on it where it is ``held``.
    """
    middle = float(np.mean([found[0].shoulders.real, found[-1].shoulders.real]))
    placed = []
    for bones in found:
        ahead = BESIDE_AHEAD * bones.scale
        props, joints = [], dict(bones.joints)
        for prop in bones.props:
            if prop.kind not in ("bench", "table", "chair_back"):
                props.append(prop)
                continue
            if prop.kind == "chair_back":
                hand = middle + ahead + 1j * prop.at.imag
                props.append(replace(prop, at=hand, facing=1))
            else:
                hand = bones.shoulders.real + ahead + 1j * (prop.at.imag + PALM * bones.scale)
                kind, half = BESIDE[prop.kind]
                start = middle - half + 1j * prop.at.imag
                props.append(replace(prop, kind=kind, at=start, facing=1))
            if held:
                bend_arm(joints, "far", hand)
        placed.append(replace(bones, joints=joints, props=tuple(props)))
    return tuple(placed)
