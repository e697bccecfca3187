"""Poses for checks against published measurements."""

import numpy as np

from core.mechanics.body import Body
from core.mechanics.pose import Pose
from core.mechanics.pose_input import PoseInput
from core.mechanics.posed import Posed
from core.mechanics.stances import STANCES


def posed(
    body: Body,
    stance: str,
    moments: int = 2,
    surfaces: dict[str, float] | None = None,
    **values: object,
) -> Posed:
    """One setting of a pose from start to end; ``surfaces`` in metres."""
    progress = np.linspace(0.0, 1.0, moments)[None, :]
    given = PoseInput(body, progress, values, {}, surfaces or {})
    pose: Pose = STANCES[stance](given)
    return Posed(body, pose, given)
