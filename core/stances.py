"""The table of pose functions that a movement file may name."""

from collections.abc import Callable

from core.pose import Pose
from core.pose_front import front_sit, front_stand
from core.pose_input import PoseInput
from core.pose_lying import side_lying, supine
from core.pose_plank import all_fours, plank
from core.pose_seated import sit
from core.pose_standing import hinge, squat, wall_slide
from core.pose_steps import split, step_up
from core.pose_upright import stand

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
}
