"""Movements about the upright axis, and movements to and fro, are shown as such."""

import numpy as np
import pytest

from core.figure.arrow import ARROW, Area, arrow, path_of
from core.figure.composition import drawn
from core.figure.face import SKULL, turned_by
from core.figure.people import LOOKS
from core.figure.stage import skeletons_of
from tests.core.figure.scenes import CATALOGUE, scene

AREA = Area(-120.0, 120.0, 0.0, 210.0)


def _face_parts(rung: str, look: str) -> tuple[dict[str, float], dict[str, float]]:
    """Mean x of eyes, nose and mouth from the middle of the head, at the start and at the end."""
    found = []
    for bones in skeletons_of(scene(rung), 2)[0]:
        shapes = drawn(bones, LOOKS[look]).person
        middle = np.mean(next(s for s in shapes if s.part == "head").outlines[0].real)
        parts = {}
        for part in ("eye", "nose", "mouth"):
            outlines = [o for s in shapes if s.part == part for o in s.outlines]
            parts[part] = float(np.mean([o.real.mean() for o in outlines]) - middle)
        found.append(parts)
    return found[0], found[1]


@pytest.mark.parametrize("look", LOOKS)
@pytest.mark.parametrize("rung", ["balance_head_turns", "mobility_trunk_turn"])
def test_a_turned_face_has_its_eyes_nose_and_mouth_to_one_side(rung: str, look: str) -> None:
    ahead, aside = _face_parts(rung, look)
    for part in ("eye", "nose", "mouth"):
        assert abs(ahead[part]) < 0.6
        assert aside[part] > 2.5


def test_only_the_ear_that_turns_into_view_is_drawn() -> None:
    bones = skeletons_of(scene("balance_head_turns"), 2)[0][-1]
    shapes = drawn(bones, LOOKS["arthur"]).person
    ears = [o for s in shapes if s.part == "ear" for o in s.outlines]
    assert len(ears) == 1
    assert ears[0].real.mean() < bones["crown"].real


def test_features_stay_on_the_skull_however_far_the_head_turns() -> None:
    outline = np.array([-6.0 + 1.0j, 6.0 + 1.0j, 0.0 - 4.0j])
    for turn in np.radians([0.0, 20.0, 45.0, 80.0]):
        moved = turned_by(outline, float(turn))
        assert np.abs(moved.real).max() <= SKULL
        assert np.all(moved.imag == outline.imag)


@pytest.mark.parametrize("rung", ["balance_head_turns", "mobility_trunk_turn"])
def test_the_arrow_of_a_turn_goes_round_above_the_head(rung: str) -> None:
    bones = skeletons_of(scene(rung), 7)[0]
    way = path_of(bones)
    assert way is not None
    crown = bones[-1]["crown"]
    assert way[0].real < crown.real < way[-1].real
    assert way.imag.min() > crown.imag
    # The front of a ring: it sags in its middle.
    assert way[len(way) // 2].imag < min(way[0].imag, way[-1].imag) - 1.0


def test_shoulders_roll_up_and_back_and_the_arrow_goes_round_them() -> None:
    bones = skeletons_of(scene("warm_shoulder_rolls"), 7)[0]
    moved = bones[-1]["shoulder_near"] - bones[0]["shoulder_near"]
    assert moved.imag > 2.0
    assert moved.real < -2.0
    assert bones[-1]["crown"] == pytest.approx(bones[0]["crown"])
    way = path_of(bones)
    assert way is not None
    middle = (way.real.max() + way.real.min()) / 2
    first, last = way[0], way[-1]
    assert first.real > middle > last.real  # from the front over the top to the back
    assert way[len(way) // 2].imag > max(first.imag, last.imag)
    assert abs(way.mean() - bones[-1]["shoulder_near"]) < 12.0


@pytest.mark.parametrize("rung", [r.id for r in CATALOGUE if "pulses" in r.dials])
def test_pulses_have_an_arrow_with_two_heads(rung: str) -> None:
    bones = skeletons_of(scene(rung), 7)[0]
    heads = [s for s in arrow(bones, AREA) if s.fill == ARROW]
    assert len(heads) == 1
    assert len(heads[0].outlines) == 4  # two shafts, two heads
    single = skeletons_of(scene("squat_free"), 7)[0]
    assert len(next(s for s in arrow(single, AREA) if s.fill == ARROW).outlines) == 2


MARCHES = ("step_march_held", "step_march", "warm_march_held", "warm_march", "cool_slow_march")


@pytest.mark.parametrize(
    ("rung", "direction"),
    [
        *((rung, 1j) for rung in MARCHES),
        ("heel_held_small", 1j),
        ("hinge_wall", -1),
        ("balance_shift", -1),
        ("lunge_rear", -1 - 1j),
        ("lunge_forward", 1 - 1j),
        ("side_seated_band", 1),
        ("mobility_heel_slide_seated", 1),
        ("balance_line_walk", 1),
        ("cool_side_reach", 1j),
    ],
)
def test_the_arrow_tells_the_movement_that_the_words_name(rung: str, direction: complex) -> None:
    way = path_of(skeletons_of(scene(rung), 7)[0])
    assert way is not None
    moved = way[-1] - way[0]
    wanted = complex(direction) / abs(complex(direction))
    assert (moved * wanted.conjugate()).real > 0.75 * abs(moved)


@pytest.mark.parametrize("rung", list(CATALOGUE), ids=lambda rung: rung.id)
def test_what_an_arrow_is_told_to_follow_is_there(rung) -> None:
    tells = rung.pose.get("tells", "")
    joints = skeletons_of(scene(rung.id), 2)[0][0].joints
    assert tells in ("", "roll", "breath") or tells in joints


def test_who_breathes_out_through_the_lips_is_drawn_blowing() -> None:
    bones = skeletons_of(scene("breathing_lips"), 2)[0][0]
    shapes = drawn(bones, LOOKS["ingrid"]).person
    mouth = next(s for s in shapes if s.part == "mouth").outlines[0]
    breath = np.concatenate(next(s for s in shapes if s.part == "breath").outlines)
    assert breath.real.min() > mouth.real.max()
    assert abs(breath.imag.mean() - mouth.imag.mean()) < 3.0
    quiet = drawn(skeletons_of(scene("breathing_belly"), 2)[0][0], LOOKS["ingrid"]).person
    assert not any(s.part == "breath" for s in quiet)
