"""Moments against a second, independent computation.

A weight moment at a joint is how fast the potential energy of the parts beyond it changes when
they turn about the joint (virtual work). Here those parts are turned by a small angle and the
change of energy is counted; nothing of the moment code is used.
"""

import numpy as np
import pytest

from core.mechanics.body import GRAVITY, Body
from core.mechanics.pose import UPPER_BODY, arm_parts, leg_parts
from core.mechanics.pose_plank import KNEE_CONTACT, arm_direction
from core.mechanics.posed import Posed
from core.mechanics.statics_legs import hip_and_knee
from core.mechanics.statics_upper import push_force
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


@pytest.mark.parametrize(
    "values",
    [{}, {"pivot": "knees"}, {"surface": "bench"}, {"forearms": "yes"}],
    ids=["toes", "knees", "bench", "forearms"],
)
def test_the_push_of_the_hands_does_the_work_that_lifts_the_body(values: dict) -> None:
    """Turned a little about feet or knees, the straight body gains as much energy as the force
    along the arms does work on the way of the hands."""
    scene = posed(BODY, "plank", 5, {"bench": 0.9}, **values)
    along = scene.joint("shoulder_near") - scene.joint("hip_near")
    lying = ("shank_near", "shank_far", "foot_near", "foot_far")
    if values.get("pivot") == "knees":
        below, ahead = KNEE_CONTACT
        shin = (below + 1j * ahead) * BODY.stature * along / np.abs(along)
        contact: np.ndarray = scene.joint("knee_near") - shin
        parts = tuple(part for part in scene.masses if part not in lying)
    else:
        contact, parts = scene.joint("ball_near"), tuple(scene.masses)
    hand = scene.joint("elbow_near" if "forearms" in values else "wrist_near")
    arm = arm_direction(np.angle(along))

    def after(turned: float) -> tuple[np.ndarray, np.ndarray]:
        """Energy of the parts, and where the hand is along the arm, turned about the contact."""
        turn = np.exp(1j * turned)
        total = sum(
            scene.masses[part][0] * (contact + (scene.masses[part][1] - contact) * turn).imag
            for part in parts
        )
        way = ((contact + (hand - contact) * turn) * arm.conjugate()).real
        return np.asarray(total) * BODY.weight, way

    (more, further), (less, nearer) = after(SMALL), after(-SMALL)
    force = (more - less) / (further - nearer)
    assert push_force(scene) * BODY.weight == pytest.approx(force, rel=1e-5)
    assert force.min() > 20.0


def test_the_moments_of_a_squat_do_the_work_that_lifts_the_body() -> None:
    """From moment to moment: hip, knee, ankle and neck, each times its change of angle."""
    scene = posed(BODY, "squat", 801, arms="crossed", lean=45)
    share, whole = scene.whole
    under = whole.real
    hip, knee = hip_and_knee(scene, "near", share * 0.5, under)
    ankle_at = scene.joint("ankle_near")
    ankle = share * 0.5 * (under - ankle_at.real) - scene.gravity(("foot_near",), ankle_at)
    neck = scene.gravity(("head",), scene.joint("shoulder_near"))

    def line(first: str, last: str) -> np.ndarray:
        return np.unwrap(np.angle(scene.joint(last) - scene.joint(first))[0])

    trunk = line("hip_near", "shoulder_near")
    thigh, shank = line("knee_near", "hip_near"), line("ankle_near", "knee_near")
    head = line("shoulder_near", "crown")
    work = np.zeros(len(trunk) - 1)
    for moment, angle, legs in (
        (hip, trunk - thigh, 2.0),
        (knee, shank - thigh, 2.0),
        (ankle, shank, 2.0),
        (neck, head - trunk, 1.0),
    ):
        middle = (moment[0, 1:] + moment[0, :-1]) / 2
        work += legs * middle * np.diff(angle)
    lifted = np.diff(share * whole.imag[0])
    down = slice(100, 700)  # away from the ends, where straight legs make angles jump
    assert work[down].sum() == pytest.approx(lifted[down].sum(), rel=0.002)
