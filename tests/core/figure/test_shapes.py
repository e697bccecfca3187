"""The geometry that figures are made of."""

import numpy as np
import pytest

from core.figure.shapes import Shape, disc, mixed, oval, smooth, stroke, tube
from core.figure.solids import FLOOR, Solid


def _area(outline: np.ndarray) -> float:
    """Area inside a closed outline (shoelace formula)."""
    x, y = outline.real, outline.imag
    return abs(float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y)) / 2)


def test_a_disc_has_the_area_of_a_circle() -> None:
    assert _area(disc(3 + 4j, 5.0)) == pytest.approx(np.pi * 25.0, rel=0.01)


def test_an_oval_turns_with_its_direction() -> None:
    upright = oval(0j, 4.0, 1.0, 1j)
    assert np.abs(upright.imag).max() == pytest.approx(4.0)
    assert np.abs(upright.real).max() == pytest.approx(1.0, rel=0.02)


def test_a_smooth_outline_goes_through_its_points() -> None:
    points = np.array([0j, 4 + 0j, 5 + 3j, 1 + 4j])
    curve = smooth(points)
    for point in points:
        assert np.abs(curve - point).min() < 1e-9


def test_a_tube_is_wider_where_its_profile_is_wider() -> None:
    limb = tube(0j, -40j, [(0.0, 8.0), (1.0, 4.0)], [(0.0, 8.0), (1.0, 4.0)])
    near_top = limb.real[np.abs(limb.imag + 5.0) < 3.0]
    near_foot = limb.real[np.abs(limb.imag + 38.0) < 3.0]
    assert near_top.max() > 7.0
    assert near_foot.max() < 5.0


def test_a_tube_ends_round_unless_told_to_end_flat() -> None:
    radii = [(0.0, 3.0), (1.0, 3.0)]
    assert tube(0j, 10 + 0j, radii, radii).real.max() == pytest.approx(13.0, abs=0.2)
    assert tube(0j, 10 + 0j, radii, radii, round_end=False).real.max() == pytest.approx(10.0)


def test_a_stroke_is_as_wide_as_asked() -> None:
    line = stroke(np.linspace(0, 20, 5).astype(complex), 3.0)
    assert line.imag.max() - line.imag.min() == pytest.approx(3.0)


@pytest.mark.parametrize(
    ("share", "colour"), [(0.0, "#102030"), (1.0, "#f0e0d0"), (0.5, "#808080")]
)
def test_colours_mix_by_share(share: float, colour: str) -> None:
    assert mixed("#102030", "#f0e0d0", share) == colour


def test_what_is_below_the_floor_is_pressed_onto_it_and_the_rest_stays() -> None:
    pressed = FLOOR.pushed(np.array([1 - 2j, 3 + 4j]))
    assert pressed.tolist() == [1 + 0j, 3 + 4j]


def test_a_seat_pushes_up_and_its_edge_pushes_out() -> None:
    seat = Solid(0.0, 40.0, 30.0, 43.0, "up left")
    pushed = seat.pushed(np.array([20 + 41j, 1 + 35j, -5 + 35j]))
    assert pushed.tolist() == [20 + 43j, 0 + 35j, -5 + 35j]


def test_a_stiff_thing_leaves_a_wall_as_a_whole() -> None:
    wall = Solid(100.0, 1e4, -1e4, 1e4, "left")
    assert wall.escape([disc(98 + 150j, 10.0)]) == pytest.approx(-8.0)


def test_a_moved_shape_keeps_its_form() -> None:
    shape = Shape("head", (disc(0j, 5.0),), "#ffffff")
    moved = shape.moved(3 + 4j)
    assert np.allclose(moved.outlines[0] - shape.outlines[0], 3 + 4j)
