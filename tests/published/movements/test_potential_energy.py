"""Moments against a second, independent computation.

A weight moment at a joint is how fast the potential energy of the parts beyond it changes when
they turn about the joint (virtual work). Here those parts are turned by a small angle and the
change of energy is counted; nothing of the moment code is used.
"""

import numpy as np
import pytest

from core.body import GRAVITY, Body
from core.pose import UPPER_BODY, arm_parts, leg_parts
from core.posed import Posed
from core.vocabulary import Sex
from tests.published.movements.scenes import posed

BODY = Body(Sex.FEMALE, 1.63, 68.0)
SMALL = 1e-6  # radians

CASES = [
    ("hinge", {"lean": [0, 60], "arms": "hang", "load": 2.0}, UPPER_BODY, "hip_near"),
    ("sit", {"lean": [0, 40], "arms": "crossed"}, UPPER_BODY, "hip_near"),
    ("stand", {"near_thigh": [0, 70], "near_knee": [0, 80]}, leg_parts("near"), "hip_near"),
    ("stand", {"near_thigh": [0, 70], "near_knee": [0, 80]}, leg_parts("near")[1:], "knee_near"),
    ("stand", {"arms": ["ears", "overhead"], "load": 1.0}, arm_parts("near"), "shoulder_near"),
    ("front_stand", {"near_out": [0, 30]}, leg_parts("near"), "hip_near"),
    ("side_lying", {"near_lift": [0, 30]}, leg_parts("near"), "hip_near"),
    ("all_fours", {"near_arm_lift": [0, 1], "far_leg_lift": 1}, leg_parts("far"), "hip_far"),
]


def energy(scene: Posed, parts: tuple[str, ...], joint: str, turned: float) -> np.ndarray:
    """Joules of the parts after they have turned by ``turned`` radians about the joint."""
    about = scene.joint(joint)
    total = np.zeros(scene.given.progress.shape)
    for part in parts:
        if part in scene.masses:
            share, where = scene.masses[part]
            after = about + (where - about) * np.exp(1j * turned)
            total = total + share * scene.body.mass * GRAVITY * after.imag
    return total


@pytest.mark.parametrize(("stance", "values", "parts", "joint"), CASES)
def test_a_weight_moment_is_the_slope_of_the_potential_energy(
    stance: str, values: dict, parts: tuple[str, ...], joint: str
) -> None:
    scene = posed(BODY, stance, 5, {"chair": 0.45}, **values)
    slope = (energy(scene, parts, joint, SMALL) - energy(scene, parts, joint, -SMALL)) / (2 * SMALL)
    moment = scene.gravity(parts, scene.joint(joint)) * scene.body.weight
    assert moment == pytest.approx(slope, abs=1e-4)
    assert np.abs(moment).max() > 1.0


def test_the_foot_force_of_a_squat_balances_the_whole_body() -> None:
    """The centre of mass stays over the feet: no moment is left about where the force acts."""
    scene = posed(BODY, "squat", 9, arms="forward")
    _, where = scene.whole
    heel, toe = scene.joint("heel_near").real, scene.joint("toe_near").real
    assert np.all(where.real > heel + 0.03)
    assert np.all(where.real < toe - 0.03)
