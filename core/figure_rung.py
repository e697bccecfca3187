"""The figures of one rung at one dial setting for one body: start to end of a repetition."""

from dataclasses import dataclass

import numpy as np

from core.body import Body
from core.catalogue import Rung, Setting
from core.client import KitAtHome
from core.demand import pose_input
from core.figure import Figure, figure
from core.people import Look
from core.stances import STANCES


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


def figures_of(scene: Scene, moments: int = 2) -> tuple[tuple[Figure, ...], str]:
    """(figures from start to end, why this body cannot take the pose or "")."""
    progress = np.linspace(0.0, 1.0, moments)[None, :]
    given = pose_input(scene.body, scene.rung, scene.kit, [scene.setting], progress)
    pose = STANCES[scene.rung.stance](given)
    found = tuple(figure(pose, scene.body, scene.look, moment=k) for k in range(moments))
    return found, str(pose.refused[0])
