"""What a rung says beside where its joints are: fists, fingertips, resting hands, a free hand, what
the arrow shows, where a band goes.
"""

from dataclasses import replace

from core.figure.contact import bend_arm
from core.figure.scene import Scene
from core.figure.skeleton import PlacedProp, Skeleton
from core.mechanics.pose import SIDES, View
from core.mechanics.pose_arms import BY_STATURE
from core.vocabulary import Spare

ON_BODY = ("hips", "belly", "lap", "crossed")  # places at which a hand lies on its own body
ONE_HAND = ("fingertips", "one_hand", "steady_hand", "resting_hand", "firm_hand")
STATURE = 165.0  # that scale 1 stands for, cm
ROUND_BACK = -9.5 - 8.0j  # a band round the back: behind and below the shoulder joint, cm


def one_hand_is_free(scene: Scene, view: View) -> bool:
    """Whether the support dial leaves the near hand free, though the pose has both on a hold."""
    pose = scene.rung.pose
    both = "hold" == pose.get("near_arm", pose.get("arms")) == pose.get("far_arm", pose.get("arms"))
    return view is View.SIDE and both and scene.dial("support") in ONE_HAND


def as_told(bones: Skeleton, scene: Scene, progress: float) -> Skeleton:
    """A moment with all of that; ``progress`` is 0 at the start and 1 at the end."""
    pose = scene.rung.pose
    resting = set()
    for side in SIDES:
        place = pose.get(f"{side}_arm", pose.get("arms"))
        places = _places(place)
        at_end = {0.0: places[0], 1.0: places[-1]}.get(progress, "") in ON_BODY
        if at_end or (len(set(places)) == 1 and places[0] in ON_BODY):
            resting.add(side)
    joints = dict(bones.joints)
    fists = scene.rung.id.endswith("_fists")
    if one_hand_is_free(scene, bones.view):
        up, ahead = BY_STATURE["hips"]
        way = bones.trunk * up + bones.front * ahead
        bend_arm(joints, "near", bones["hip_near"] + STATURE * bones.scale * way)
        resting.add("near")
    return replace(
        bones,
        joints=joints,
        props=tuple(_round_back(prop, bones) for prop in bones.props),
        on_fists=fists,
        on_fingertips=not fists and Spare.WRIST not in scene.rung.stresses,
        elbows_in="elbows_in" in _places(pose.get("arms")),
        tells=str(pose.get("tells", "")),
        pulses="pulses" in scene.rung.dials,
        resting=frozenset(resting),
    )


def _places(said: object) -> list[object]:
    return list(said) if isinstance(said, (list, tuple)) else [said]


def _round_back(prop: PlacedProp, bones: Skeleton) -> PlacedProp:
    """A band that ends at a shoulder goes round the upper back, under the arm."""
    if prop.kind != "band" or prop.to is None or abs(prop.to - bones["shoulder_near"]) > 1.0:
        return prop
    behind = ROUND_BACK.real * bones.front + ROUND_BACK.imag * bones.trunk
    return replace(prop, to=bones["shoulder_near"] + bones.scale * behind)
