"""The arrow says where the movement goes; the ghost says where it came from."""

import numpy as np
import pytest

from core.figure.arrow import ARROW, Area, arrow, path_of
from core.figure.ghost import ghost_below, with_ghost_on_top
from core.figure.stage import skeletons_of
from tests.core.figure.scenes import CATALOGUE, scene, start_and_end

AREA = Area(-120.0, 120.0, 0.0, 200.0)


@pytest.mark.parametrize(
    ("rung", "direction"),
    [
        ("squat_free", -1j),
        ("squat_to_chair", -1j),
        ("bridge_full", 1j),
        ("push_wall", 1),
        ("push_toes", -1j),
        ("step_up", 1j),
        ("side_held", 1),
        ("overhead_empty", 1j),
        ("heel_held", 1j),
        ("bridge_leg_back", -1),
    ],
)
def test_the_arrow_follows_the_movement(rung: str, direction: complex) -> None:
    way = path_of(skeletons_of(scene(rung), 7)[0])
    assert way is not None
    moved = way[-1] - way[0]
    assert (moved * complex(direction).conjugate()).real > 0.4 * abs(moved)


def test_a_position_to_hold_without_movement_has_no_arrow() -> None:
    assert arrow(skeletons_of(scene("balance_together"), 7)[0], AREA) == []


@pytest.mark.parametrize("rung", [rung.id for rung in CATALOGUE])
def test_arrows_stay_in_the_picture_and_off_the_face(rung: str) -> None:
    bones, refused = skeletons_of(scene(rung), 7)
    if refused:
        pytest.skip("not placeable for this body")
    points = [o for b in (bones[0], bones[-1]) for o in b.joints.values()]
    area = Area(
        min(p.real for p in points) - 30.0, max(p.real for p in points) + 30.0, 0.0,
        max(80.0, max(p.imag for p in points) + 20.0),
    )  # fmt: skip
    shapes = [s for s in arrow(bones, area) if s.fill == ARROW]
    if not shapes:
        return
    outline = np.concatenate(shapes[0].outlines)
    assert outline.real.min() > area.left - 4.0
    assert outline.real.max() < area.right + 4.0
    assert outline.imag.min() > -4.0
    assert outline.imag.max() < area.top + 4.0
    face = (bones[-1]["crown"] + bones[-1]["neck"]) / 2
    assert np.abs(outline - face).min() > 6.0


def test_the_ghost_of_an_arm_lies_on_a_body_that_stays() -> None:
    start, end = start_and_end(scene("overhead_empty"))
    person = with_ghost_on_top(start, end)
    parts = [shape.part for shape in person]
    assert parts.index("shirt") < parts.index("ghost") < parts.index("arm_near")


def test_a_moving_body_has_its_whole_ghost_behind_it() -> None:
    start, end = start_and_end(scene("squat_free"))
    kinds = {shape.part for shape in ghost_below(start, end)}
    assert {"shirt", "head", "thigh_near"} <= kinds
    assert "ghost" not in [shape.part for shape in with_ghost_on_top(start, end)]


def test_what_stays_has_no_ghost() -> None:
    start, end = start_and_end(scene("overhead_empty"))
    assert not {"shirt", "head", "thigh_near"} & {s.part for s in ghost_below(start, end)}
