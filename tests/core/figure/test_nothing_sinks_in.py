"""No body part below the floor or inside a prop: every rung, dial setting and several bodies."""

import pytest

from core.figure.composition import Figure, drawn
from core.figure.solids import blocks_for
from core.figure.stage import skeletons_of
from core.vocabulary import Family
from tests.core.figure.scenes import CATALOGUE, all_scenes

TOUCHING = 1e-6  # cm, rounding

PRESSED = {
    "shirt": 5.5,
    "thigh": 5.5,
    "pelvis": 4.0,
    "sleeve": 4.2,
    "seam": 4.2,
    "arm": 4.2,
    "knuckles": 4.2,
    "shoe": 2.5,
    "sole": 2.5,
    "head": 0.0,
    "hair": 0.0,
}
"""How deep, in cm, a part may be pressed flat: soft parts like flesh and cloth, shoes barely (a
flat toe over an edge), heads not at all. Parts not named: ``OTHERS``."""
OTHERS = 1.5


def _sunk(figure: Figure) -> list[str]:
    """Parts that lie in the floor or in a prop after drawing."""
    return [
        shape.part
        for shape in figure.person
        for block in blocks_for(shape.part, figure.bones)
        for outline in shape.outlines
        if block.depth(outline) > TOUCHING
    ]


def _pressed_too_far(figure: Figure) -> list[tuple[str, float]]:
    return [
        (part, round(depth, 1))
        for part, depth in figure.pressed.items()
        if depth > PRESSED.get(part.split("_")[0], OTHERS) + TOUCHING
    ]


@pytest.mark.parametrize("family", [family for family in Family if CATALOGUE.rungs(family)])
def test_nothing_sinks_into_floor_or_props(family: Family) -> None:
    drawn_scenes = 0
    for rung in CATALOGUE.rungs(family):
        for scene in all_scenes(rung):
            bones, refused = skeletons_of(scene, 2)
            if refused:
                continue
            drawn_scenes += 1
            for one in bones:
                figure = drawn(one, scene.look)
                where = (rung.id, scene.setting, scene.body.stature)
                assert not _sunk(figure), where
                assert not _pressed_too_far(figure), where
                assert min(shape.lowest for shape in figure.person) >= -TOUCHING, where
    assert drawn_scenes >= len(CATALOGUE.rungs(family))
