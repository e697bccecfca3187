"""The skeletons and figures of one rung at one dial setting for one body, start to end."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from core.body import Body
from core.catalogue import DialValue, Rung, Setting
from core.client import KitAtHome
from core.demand import pose_input
from core.figure import Figure, drawn
from core.figure_skeleton import PlacedProp, Skeleton, skeleton_of
from core.people import Look
from core.pose import SIDES, View
from core.stances import STANCES

HOLDABLE = ("chair_back", "bench", "table", "wall")
ALMOST = 24.0  # cm: a straight arm that ends this near its hold was meant to reach it
STRETCH = 0.985  # longest reach of an arm over its length


@dataclass(frozen=True, slots=True)
class Scene:
    """What a picture is of.

    Attributes:
        setting: the dials that are not at their plain value.
    """

    rung: Rung
    setting: Setting
    body: Body
    kit: KitAtHome
    look: Look

    @property
    def holds(self) -> bool:
        """Whether the rung is a position to hold."""
        return self.rung.unit == "seconds"

    def dial(self, name: str) -> DialValue | None:
        """The value of a dial; ``None`` where the rung has no such dial."""
        plain = self.rung.dials.get(name)
        return dict(self.setting).get(name, plain[0]) if plain else None


def skeletons_of(scene: Scene, moments: int) -> tuple[tuple[Skeleton, ...], str]:
    """(skeletons from start to end, why this body cannot take the pose or "")."""
    progress = np.linspace(0.0, 1.0, moments)[None, :]
    given = pose_input(scene.body, scene.rung, scene.kit, [scene.setting], progress)
    pose = STANCES[scene.rung.stance](given)
    found = [skeleton_of(pose, scene.body, 0, k) for k in range(moments)]
    found = _props_in_reach([_as_dialled(bones, scene) for bones in found])
    return tuple(found), str(pose.refused[0])


def figures_of(scene: Scene, moments: int = 2) -> tuple[Figure, ...]:
    """Figures from start to end."""
    return tuple(drawn(bones, scene.look) for bones in skeletons_of(scene, moments)[0])


def _as_dialled(bones: Skeleton, scene: Scene) -> Skeleton:
    """What a dial changes that the pose leaves alone: a steadying hand, something soft to stand on."""
    if scene.dial("soft") in ("folded_towel", "cushion"):
        feet = [bones[f"{part}_{side}"].real for part in ("heel", "toe") for side in SIDES]
        pad = PlacedProp("pad", min(feet) - 9.0 + 0j, max(feet) + 9.0 + 0j, 0.0, 1)
        bones = replace(bones, props=(*bones.props, pad))
    support = scene.dial("support")
    hold = bones.prop(*HOLDABLE)
    if hold is None or support in (None, "none"):
        return bones
    nearer = "far" if bones.view is View.FRONT else "near"
    sides = SIDES if support == "two_hands" and bones.view is View.SIDE else (nearer,)
    joints = dict(bones.joints)
    for side in sides:
        if all(abs(joints[f"wrist_{s}"] - hold.at) > ALMOST for s in SIDES):
            joints[f"wrist_{side}"] = hold.at
    return replace(bones, joints=joints)


def _props_in_reach(found: Sequence[Skeleton]) -> list[Skeleton]:
    """Moves what is held on to towards a person whose straight arms do not quite reach it."""
    shift = 0.0
    for bones in found:
        prop = bones.prop(*HOLDABLE)
        if prop is None or prop.kind == "wall":
            return list(found)
        for side in SIDES:
            shift = max(shift, _shortfall(bones, prop, side))
    if shift <= 0.0:
        return list(found)
    return [replace(b, props=tuple(_nearer(prop, shift) for prop in b.props)) for b in found]


def _shortfall(bones: Skeleton, prop: PlacedProp, side: str) -> float:
    """How much nearer a prop must be for a hand that is stretched out to it, cm."""
    shoulder, elbow, wrist = (bones[f"{n}_{side}"] for n in ("shoulder", "elbow", "wrist"))
    arm = (abs(elbow - shoulder) + abs(wrist - elbow)) * STRETCH
    gap = abs(wrist - prop.at)
    if abs(wrist - shoulder) < 0.97 * arm or not 3.0 < gap < ALMOST:
        return 0.0
    above = (prop.at - shoulder).imag + 3.0 * bones.scale
    level = float(np.sqrt(max(arm**2 - above**2, 0.0)))
    return max(0.0, (prop.at - shoulder).real * prop.facing - 4.0 * bones.scale - level)


def _nearer(prop: PlacedProp, shift: float) -> PlacedProp:
    if prop.kind not in HOLDABLE:
        return prop
    return replace(prop, at=prop.at - prop.facing * shift)
