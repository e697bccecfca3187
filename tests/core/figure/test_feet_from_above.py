"""Feet from above show the stance that a balance rung asks for."""

import numpy as np
import pytest

from core.figure.feet import soles_from_above, stands
from core.figure.stage import skeletons_of
from tests.core.figure.scenes import scene


def _feet(rung: str) -> tuple[complex, complex]:
    one = scene(rung)
    bones = skeletons_of(one, 2)[0][0]
    soles = [s.outlines[0] for s in soles_from_above(bones, one) if s.part == "sole"]
    first, second = (complex(np.mean(outline)) for outline in soles)
    return first, second


@pytest.mark.parametrize(
    ("rung", "aside", "ahead"),
    [
        ("balance_apart", (14, 25), (0, 1)),
        ("balance_together", (9, 12), (0, 1)),
        ("balance_half_step", (9, 12), (8, 16)),
        ("balance_heel_to_toe", (0, 1), (22, 29)),
    ],
)
def test_feet_stand_as_the_rung_says(
    rung: str, aside: tuple[float, float], ahead: tuple[float, float]
) -> None:
    first, second = _feet(rung)
    assert aside[0] <= abs((first - second).real) <= aside[1]
    assert ahead[0] <= abs((first - second).imag) <= ahead[1]


def test_a_plank_is_not_about_feet() -> None:
    one = scene("brace_knees")
    assert not stands(skeletons_of(one, 2)[0][0], one)
