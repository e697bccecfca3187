"""Sets the stage of a picture: what a pose leaves open, but the eye expects.

A hand that a dial puts on the bench, a pad to stand on, a mat for the floor, furniture within
reach of the hands that hold it, a wall that the toes do not go through.
"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from core.figure_contact import FIST, bend_arm
from core.figure_fit import fitted
from core.figure_prop_sizes import CHAIR_BACK
from core.figure_scene import Scene
from core.figure_skeleton import PlacedProp, Skeleton
from core.pose import SIDES, View
from core.vocabulary import Kit

HOLDABLE = ("chair_back", "bench", "table", "wall")
ALMOST = 24.0  # cm: a straight arm that ends this near its hold was meant to reach it
STRETCH = 0.985  # longest reach of an arm over its length
TOES_FREE = 4.0  # cm between a wall and what comes nearest to it
HALF_CHAIR = 21.0  # cm, half the width of a chair
STEADYING = (None, "none")


def staged(found: Sequence[Skeleton], scene: Scene) -> tuple[Skeleton, ...]:
    """The skeletons of a movement, start to end, with everything that the picture needs."""
    bones = fitted([_far_arm_reaches(b, found[-1]) for b in found])
    if scene.rung.id.endswith("_fists"):
        bones = [replace(b, on_fists=True) for b in bones]
    if scene.rung.stance == "step_up" and found[0].prop("wall"):
        both = scene.dial("support") in ("two_hands", "press")
        return tuple(_on_stairs(b, bones, both=both) for b in bones)
    bones = _wall_clear(bones)
    if _both_hands_before(bones[0], scene):
        return tuple(_behind_chair(b) for b in bones)
    bones = _held_in_reach(bones)
    return tuple(_with_mat(_as_dialled(b, scene), bones, scene) for b in bones)


def _far_arm_reaches(bones: Skeleton, last: Skeleton) -> Skeleton:
    """On all fours the far arm is the one that reaches out, so that the face stays in view."""
    ahead = last["wrist_near"] - last["crown"]
    level = abs(last.trunk.real) > 0.8 and last.view is View.SIDE and last.gaze.imag < 0
    if not level or ahead.real < 0 or last["wrist_near"].imag - last["wrist_far"].imag < 20.0:
        return bones
    other = {"near": "far", "far": "near"}
    joints = {
        f"{name[: -len(side)]}{other[side]}" if side in other else name: point
        for name, point in bones.joints.items()
        for side in (name.rpartition("_")[2],)
    }
    holding = {other[side]: kilograms for side, kilograms in bones.holding.items()}
    return replace(bones, joints=joints, holding=holding)


RAIL_AHEAD = 0.62  # of an arm's length: where a hand holds a handrail, ahead of the shoulder
RAIL_ABOVE_HIP = 12.0  # cm


def _on_stairs(bones: Skeleton, found: Sequence[Skeleton], *, both: bool) -> Skeleton:
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


def _wall_clear(found: Sequence[Skeleton]) -> list[Skeleton]:
    """Moves a wall ahead away from knees and toes that would go through it."""
    wall = found[0].prop("wall")
    if wall is None or wall.facing < 0 or found[0].view is View.FRONT:
        return list(found)
    room = max(
        max(b[f"toe_{side}"].real + TOES_FREE, b[f"knee_{side}"].real + 8.0 + TOES_FREE)
        for b in found
        for side in SIDES
    )
    shift = max(0.0, room - wall.at.real)
    return [_with_moved(b, shift, ("wall",)) for b in found] if shift else list(found)


def _with_moved(bones: Skeleton, shift: float, kinds: tuple[str, ...]) -> Skeleton:
    """The kinds of props shifted along x, and hands that were on them with them."""
    joints = dict(bones.joints)
    for prop in bones.props:
        for side in SIDES if prop.kind in kinds else ():
            gap = joints[f"wrist_{side}"] - prop.at
            on_it = abs(gap.real) < 7.0 if prop.kind == "wall" else abs(gap) < ALMOST
            ahead = (prop.at - joints[f"shoulder_{side}"]).real * prop.facing
            if on_it and ahead > 7.0:
                at = joints[f"wrist_{side}"] if prop.kind == "wall" else prop.at
                bend_arm(joints, side, at + shift)
    props = tuple(
        replace(prop, at=prop.at + shift) if prop.kind in kinds else prop for prop in bones.props
    )
    return replace(bones, joints=joints, props=props)


def _both_hands_before(bones: Skeleton, scene: Scene) -> bool:
    """Whether someone seen from in front holds a chair with both hands: it stands before her."""
    chair = bones.prop("chair_back")
    return bones.view is View.FRONT and chair is not None and scene.dial("support") == "two_hands"


def _behind_chair(bones: Skeleton) -> Skeleton:
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


def _as_dialled(bones: Skeleton, scene: Scene) -> Skeleton:
    """What a dial changes and the pose leaves alone: a steadying hand, a soft thing to stand on."""
    if scene.dial("soft") in ("folded_towel", "cushion"):
        feet = [bones[f"{part}_{side}"].real for part in ("heel", "toe") for side in SIDES]
        pad = PlacedProp("pad", min(feet) - 9.0 + 0j, max(feet) + 9.0 + 0j, 0.0, 1)
        bones = replace(bones, props=(*bones.props, pad))
    support, hold = scene.dial("support"), bones.prop(*HOLDABLE)
    if hold is None or support in STEADYING:
        return bones
    if "hold" in _arm_places(scene):
        return bones
    joints = dict(bones.joints)
    if bones.view is View.FRONT:
        sides: tuple[str, ...] = ("far",)
    else:
        sides = SIDES if support == "two_hands" else ("near",)
    for side in sides:
        bend_arm(joints, side, hold.at)
    return replace(bones, joints=joints)


def _arm_places(scene: Scene) -> list[object]:
    """Where the pose puts the hands, at the start and the end."""
    named = [scene.rung.pose.get(field) for field in ("arms", "near_arm", "far_arm")]
    return [p for place in named for p in (place if isinstance(place, (list, tuple)) else [place])]


def _held_in_reach(found: Sequence[Skeleton]) -> list[Skeleton]:
    """Moves what is held on to towards a person whose straight arms do not quite reach it."""
    shift, facing = 0.0, 1
    for bones in found:
        prop = bones.prop("chair_back", "bench", "table")
        if prop is None:
            return list(found)
        facing = prop.facing
        for side in SIDES:
            shift = max(shift, _shortfall(bones, prop, side))
    if shift <= 0.0:
        return list(found)
    return [_with_moved(b, -facing * shift, ("chair_back", "bench", "table")) for b in found]


def _shortfall(bones: Skeleton, prop: PlacedProp, side: str) -> float:
    """How much nearer a prop must be for a hand that is stretched out to it, cm."""
    shoulder, elbow, wrist = (bones[f"{n}_{side}"] for n in ("shoulder", "elbow", "wrist"))
    arm = (abs(elbow - shoulder) + abs(wrist - elbow)) * STRETCH
    if abs(wrist - shoulder) < 0.97 * arm or not 3.0 < abs(wrist - prop.at) < ALMOST:
        return 0.0
    above = (prop.at - shoulder).imag + 3.0 * bones.scale
    level = float(np.sqrt(max(arm**2 - above**2, 0.0)))
    return max(0.0, (prop.at - shoulder).real * prop.facing - 4.0 * bones.scale - level)


def _with_mat(bones: Skeleton, found: Sequence[Skeleton], scene: Scene) -> Skeleton:
    """A mat under someone who lies or kneels, where the pose has not laid one."""
    if Kit.MAT not in scene.rung.needs or bones.prop("mat"):
        return bones
    spread = [point.real for b in found for point in b.joints.values()]
    mat = PlacedProp("mat", min(spread) - 10.0 + 0j, max(spread) + 10.0 + 0j, 0.0, 1)
    return replace(bones, props=(mat, *bones.props))
