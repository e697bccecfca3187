"""The skeletons and figures of one rung at one dial setting for one body, start to end."""

import numpy as np

from core.figure.composition import Figure, drawn
from core.figure.scene import Scene
from core.figure.skeleton import Skeleton, skeleton_of
from core.figure.stage import staged
from core.mechanics.stances import STANCES
from core.movements.demand import pose_input


def skeletons_of(scene: Scene, moments: int) -> tuple[tuple[Skeleton, ...], str]:
    """(skeletons from start to end, why this body cannot take the pose or "")."""
    progress = np.linspace(0.0, 1.0, moments)[None, :]
    given = pose_input(scene.body, scene.rung, scene.kit, [scene.setting], progress)
    pose = STANCES[scene.rung.stance](given)
    found = [skeleton_of(pose, scene.body, 0, k) for k in range(moments)]
    return staged(found, scene), str(pose.refused[0])


def figures_of(scene: Scene, moments: int = 2) -> tuple[Figure, ...]:
    """Figures from start to end."""
    return tuple(drawn(bones, scene.look) for bones in skeletons_of(scene, moments)[0])
