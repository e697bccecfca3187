"""The table of pose functions that a movement file may name."""

from collections.abc import Callable

from core.mechanics.pose import Pose
from core.mechanics.pose_floor import floor_rise
from core.mechanics.pose_front import front_sit, front_stand, side_step_up
from core.mechanics.pose_input import PoseInput
from core.mechanics.pose_lying import side_lying, supine
from core.mechanics.pose_plank import all_fours, plank
from core.mechanics.pose_seated import sit
from core.mechanics.pose_standing import hinge, squat, wall_slide
from core.mechanics.pose_steps import split, step_up
from core.mechanics.pose_upright import stand

STANCES: dict[str, Callable[[PoseInput], Pose]] = {
    "squat": squat,
    "wall_slide": wall_slide,
    "hinge": hinge,
    "stand": stand,
    "split": split,
    "step_up": step_up,
    "sit": sit,
    "supine": supine,
    "side_lying": side_lying,
    "plank": plank,
    "all_fours": all_fours,
    "front_stand": front_stand,
    "front_sit": front_sit,
    "side_step_up": side_step_up,
    "floor_rise": floor_rise,
}

# fmt: off
POSE_SETTINGS = frozenset({
    "arms", "band_between", "band_used", "base_length", "base_side", "bent", "both_legs", "clear",
    "cushion", "distance", "draw_back", "edge", "far_arm", "far_back", "far_knee", "far_knee_on",
    "far_leg_lift", "feet", "feet_on", "firm", "foot_ahead", "forearms", "from_top", "heels",
    "hips_forward", "hold", "hold_ahead", "hold_beside", "lean", "lift", "load_in", "lying",
    "near_ankle", "near_arm", "near_arm_lift", "near_back", "near_hitch", "near_knee", "near_lift",
    "near_out", "near_shin", "near_slide", "near_step", "near_thigh", "near_up", "nod", "one_leg",
    "open", "pivot", "rear_flat", "rests", "roll", "round", "seat", "seated", "shift", "side_lean",
    "stance", "step", "steps", "still", "stretch", "surface", "sway", "tap", "tells", "thigh_roll",
    "toes", "trunk_relief", "turn", "twist", "wall_behind", "way",
})
# fmt: on
"""Every setting that some pose function or measure reads; a movement file may use no other."""
