"""Closes a pose: what the hands hold, bands between points, and the finished value."""

import numpy as np
from numpy.typing import NDArray

from core.mechanics.pose import SIDES, Pose, Prop, Reals, View, holds
from core.mechanics.pose_arms import Joints, held_kilograms
from core.mechanics.pose_input import PoseInput


def finished(
    given: PoseInput,
    joints: Joints,
    props: tuple[Prop, ...] = (),
    *,
    refused: NDArray[np.str_] | None = None,
    supported: Reals | float | None = None,
    view: View = View.SIDE,
) -> Pose:
    """The pose of placed joints, with bottles in the hands and the band of the rung added.

    ``supported`` is the share of body weight on furniture; ``None`` takes the support dial.
    """
    held = held_kilograms(given)
    bottles = tuple(
        Prop("bottle", joints[f"wrist_{side}"], size=held[side])
        for side in SIDES
        if holds(held[side])
    )
    ends = given.values.get("band_between")
    band: tuple[Prop, ...] = ()
    if isinstance(ends, (list, tuple)):
        band = (Prop("band", joints[str(ends[0])], joints[str(ends[1])]),)
    return Pose(
        view=view,
        joints={name: point for name, point in joints.items() if name != "gaze"},
        gaze=joints["gaze"],
        held=held,
        refused=given.nothing_refused() if refused is None else refused,
        props=props + bottles + band,
        supported=given.number("support") if supported is None else supported,
    )
