"""The skeletons of a scene, from start to end, with what a pose leaves open but the eye expects.

A hand that a dial puts on the bench, a pad to stand on, a mat for the floor, furniture within
reach of the hands that hold it, a wall that the toes do not go through.
"""

from collections.abc import Collection, Sequence
from dataclasses import replace

import numpy as np

from core.figure.beside import behind_chair, beside, both_hands_before, on_stairs
from core.figure.contact import ON_WALL as ON_WALL_DROP
from core.figure.contact import PALM, bend_arm
from core.figure.fit import fitted
from core.figure.prop_sizes import DEPTHS
from core.figure.scene import Scene
from core.figure.skeleton import PlacedProp, Skeleton, skeleton_of
from core.figure.told import as_told, one_hand_is_free
from core.mechanics.pose import SIDES, View
from core.mechanics.stances import STANCES
from core.movements.demand import pose_input
from core.vocabulary import Kit

HOLDABLE = ("chair_back", "bench", "table")
ALMOST = 24.0  # cm: a hand on its way that is this near its hold is on it
ON_WALL = 7.0  # cm: a wrist this close to a wall lies on it
STRETCH = 1.04  # longest reach of a drawn arm over its length: shoulders give a little
FEET_FREE = 2.0  # cm between feet and what the hands hold on to
FEET_FREE_OF_LEGS = 8.0  # cm between feet and the legs of a chair, which splay
WALL_STRETCH = 1.08  # an arm that reaches low on a wall: the shoulder blade comes along
BELOW_SHOULDER = 15.0  # hands on a wall under the shoulders of someone who leans on it, cm
TOES_FREE = 4.0  # cm between a wall and what comes nearest to it
NO_HANDS = (None, "none")
BOTH_HANDS = ("two_hands", "press")


def staged(found: Sequence[Skeleton], scene: Scene) -> tuple[Skeleton, ...]:
    """The skeletons of a movement, start to end, with everything that the picture needs."""
    bones = fitted([_far_arm_reaches(b, found[-1]) for b in found])
    bones = [as_told(b, scene, k / max(len(bones) - 1, 1)) for k, b in enumerate(bones)]
    stairs = scene.rung.stance == "step_up" or bool(scene.rung.pose.get("tap"))
    if stairs and found[0].prop("wall"):
        both = scene.dial("support") in BOTH_HANDS
        return tuple(on_stairs(b, bones, both=both) for b in bones)
    bones = _hands_low_on_wall(_wall_clear(bones), scene)
    if both_hands_before(bones[0], both=scene.dial("support") == "two_hands"):
        return tuple(behind_chair(b) for b in bones)
    if scene.rung.pose.get("hold_beside"):
        held = scene.dial("support") not in NO_HANDS
        return tuple(_with_pad(b, scene) for b in beside(bones, held=held))
    bones = _held_in_reach(bones, scene)
    return tuple(_with_mat(_with_pad(b, scene), bones, scene) for b in bones)


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


def _wall_clear(found: Sequence[Skeleton]) -> list[Skeleton]:
    """Moves a wall ahead away from knees, toes and a step that would go through it."""
    wall = found[0].prop("wall")
    if wall is None or wall.facing < 0 or found[0].view is View.FRONT:
        return list(found)
    room = max(
        max(b[f"toe_{side}"].real + TOES_FREE, b[f"knee_{side}"].real + 8.0 + TOES_FREE)
        for b in found
        for side in SIDES
    )
    step = found[0].prop("step")
    if step is not None and step.facing > 0:
        room = max(room, step.at.real + DEPTHS["step"])
    shift = max(0.0, room - wall.at.real)
    return [_with_moved(b, shift, ("wall",)) for b in found] if shift else list(found)


def _hands_low_on_wall(found: Sequence[Skeleton], scene: Scene) -> list[Skeleton]:
    """Sets the hands of someone who leans on a wall at one height, below the face at all moments.

    As low as a straight arm reaches at every moment.
    """
    wall = found[0].prop("wall")
    if wall is None or scene.rung.stance != "plank":
        return list(found)
    placed = []
    for bones in found:
        joints = dict(bones.joints)
        for side in SIDES:
            if abs(wall.at.real - bones[f"wrist_{side}"].real) > ON_WALL:
                continue  # a free hand
            height = max(
                min(b[f"shoulder_{side}"].imag - BELOW_SHOULDER * b.scale for b in found),
                max(_lowest_on_wall(b, side, wall) for b in found),
            )
            bend_arm(joints, side, wall.at.real + 1j * (height + ON_WALL_DROP * bones.scale))
        placed.append(replace(bones, joints=joints))
    return placed


def _lowest_on_wall(bones: Skeleton, side: str, wall: PlacedProp) -> float:
    shoulder, elbow, wrist = (bones[f"{n}_{side}"] for n in ("shoulder", "elbow", "wrist"))
    arm = WALL_STRETCH * (abs(elbow - shoulder) + abs(wrist - elbow))
    away = abs(wall.at.real - shoulder.real) - PALM * bones.scale
    return float(shoulder.imag - np.sqrt(max(arm**2 - away**2, 0.0)))


def _with_moved(bones: Skeleton, shift: float, kinds: tuple[str, ...]) -> Skeleton:
    """The kinds of props shifted along x, and hands that lay on a wall with them."""
    joints = dict(bones.joints)
    for prop in bones.props:
        for side in SIDES if prop.kind == "wall" and prop.kind in kinds else ():
            wrist = joints[f"wrist_{side}"]
            ahead = (prop.at - joints[f"shoulder_{side}"]).real * prop.facing
            if abs((wrist - prop.at).real) < ON_WALL and ahead > ON_WALL:
                bend_arm(joints, side, wrist + shift)
    props = tuple(
        replace(prop, at=prop.at + shift) if prop.kind in kinds else prop for prop in bones.props
    )
    return replace(bones, joints=joints, props=props)


def _with_pad(bones: Skeleton, scene: Scene) -> Skeleton:
    """Something soft under the feet, where the dial says so."""
    if scene.dial("soft") not in ("folded_towel", "cushion"):
        return bones
    feet = [bones[f"{part}_{side}"].real for part in ("heel", "toe") for side in SIDES]
    pad = PlacedProp("pad", min(feet) - 9.0 + 0j, max(feet) + 9.0 + 0j, 0.0, 1)
    return replace(bones, props=(*bones.props, pad))


def _hands_that_hold(scene: Scene, view: View) -> dict[str, bool]:
    """By side: whether the hand holds on all the time, or only where the pose brings it near.

    Hands that the pose names, and steadying hands that the dial adds.
    """
    found: dict[str, bool] = {}
    for side in ("far",) if one_hand_is_free(scene, view) else SIDES:
        place = scene.rung.pose.get(f"{side}_arm", scene.rung.pose.get("arms"))
        places = place if isinstance(place, (list, tuple)) else [place]
        if "hold" in places:
            found[side] = all(one == "hold" for one in places)
    support = scene.dial("support")
    if not found and support not in NO_HANDS:
        if view is View.FRONT:
            return {"far": True}
        return dict.fromkeys(SIDES if support in BOTH_HANDS else ("near",), True)
    return found


def _held_in_reach(found: Sequence[Skeleton], scene: Scene) -> list[Skeleton]:
    """Sets hands on the furniture that they hold, which comes nearer when arms are too short."""
    prop = found[0].prop(*HOLDABLE)
    hands = _hands_that_hold(scene, found[0].view)
    if prop is None or not hands:
        return list(found)
    shift = max(_shortfall(b, prop, side) for b in found for side in hands)
    shift = min(shift, *(_room_before(b, prop, hands) for b in found))
    at = prop.at - prop.facing * shift
    placed = []
    for bones in found:
        joints = dict(bones.joints)
        for side, always in hands.items():
            if always or abs(joints[f"wrist_{side}"] - prop.at) < ALMOST:
                bend_arm(joints, side, at)
        props = tuple(replace(p, at=at) if p is bones.prop(prop.kind) else p for p in bones.props)
        placed.append(replace(bones, joints=joints, props=props))
    return placed


def _room_before(bones: Skeleton, prop: PlacedProp, hands: Collection[str]) -> float:
    """How much nearer held furniture may come without standing on feet or in a free hand, cm.

    Below zero: how much it must go away.
    """
    parts = ("hip", "ankle") if bones.view is View.FRONT else ("toe", "knee")
    nearest = max(bones[f"{part}_{side}"].real * prop.facing for part in parts for side in SIDES)
    for side in SIDES:
        wrist = bones[f"wrist_{side}"]
        if prop.kind in DEPTHS and side not in hands and wrist.imag < prop.at.imag:
            nearest = max(nearest, wrist.real * prop.facing)
    free = FEET_FREE_OF_LEGS if prop.kind == "chair_back" else FEET_FREE
    return prop.at.real * prop.facing - nearest - free * bones.scale


def _shortfall(bones: Skeleton, prop: PlacedProp, side: str) -> float:
    """How much nearer a prop must be so that a straight arm reaches its edge, cm."""
    shoulder, elbow, wrist = (bones[f"{n}_{side}"] for n in ("shoulder", "elbow", "wrist"))
    arm = (abs(elbow - shoulder) + abs(wrist - elbow)) * STRETCH
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


def skeletons_of(scene: Scene, moments: int) -> tuple[tuple[Skeleton, ...], str]:
    """(skeletons from start to end, why this body cannot take the pose or "")."""
    progress = np.linspace(0.0, 1.0, moments)[None, :]
    given = pose_input(scene.body, scene.rung, scene.kit, [scene.setting], progress)
    pose = STANCES[scene.rung.stance](given)
    found = [skeleton_of(pose, scene.body, 0, k) for k in range(moments)]
    return staged(found, scene), str(pose.refused[0])
