"""Faces stay in view and out of furniture, no bone runs through it: every rung, three bodies."""

import numpy as np
import pytest

from core.figure.composition import Figure, drawn
from core.figure.contact import touching
from core.figure.people import LOOKS
from core.figure.prop_sizes import CHAIR_BACK, DEPTHS, SLABS
from core.figure.rung import skeletons_of
from core.figure.shapes import Outline
from core.figure.skeleton import PlacedProp, Skeleton
from core.mechanics.body import Body
from core.mechanics.pose import SIDES, View
from core.movements.catalogue import Rung
from core.vocabulary import Family, Sex
from tests.core.figure.scenes import CATALOGUE, scene, shaping_settings

SMALL, MIDDLE, TALL = (
    Body(Sex.FEMALE, 1.50, 55.0),
    Body(Sex.FEMALE, 1.65, 70.0),
    Body(Sex.MALE, 1.85, 90.0),
)
BODIES = pytest.mark.parametrize("body", [SMALL, MIDDLE, TALL], ids=("1.50", "1.65", "1.85"))
RUNGS = pytest.mark.parametrize("rung", list(CATALOGUE), ids=lambda rung: rung.id)

FACE_COVERED = 0.12  # share of a face that a hand, a bottle or a band may cover
BONE_IN = 3.0  # cm a bone may run inside a block: it lies on it, flesh gives way


def _moments(rung: Rung, body: Body) -> tuple[Skeleton, ...]:
    bones, refused = skeletons_of(scene(rung.id, body=body), 5)
    if refused:
        pytest.skip(f"refused: {refused}")
    return bones


def _in_polygon(points: np.ndarray, outline: Outline) -> np.ndarray:
    """Which points lie inside a closed outline (even-odd rule)."""
    inside = np.zeros(len(points), dtype=bool)
    for a, b in zip(outline, np.roll(outline, -1), strict=True):
        crosses = (a.imag > points.imag) != (b.imag > points.imag)
        if a.imag == b.imag:
            continue
        x = a.real + (points.imag - a.imag) * (b.real - a.real) / (b.imag - a.imag)
        inside ^= crosses & (points.real < x)
    return inside


def _grid_in(outline: Outline) -> np.ndarray:
    xs = np.linspace(outline.real.min(), outline.real.max(), 24)
    ys = np.linspace(outline.imag.min(), outline.imag.max(), 24)
    points = (xs[None, :] + 1j * ys[:, None]).ravel()
    return points[_in_polygon(points, outline)]


def _face(figure: Figure) -> Outline:
    return next(shape for shape in figure.person if shape.part == "head").outlines[0]


HAIR_AND_FACE = ("hair", "cheek", "beard", "ear", "eye", "brow", "mouth", "wrinkle", "glasses")
OF_THE_HEAD = (*HAIR_AND_FACE, "nose", "earring", "head", "breath")


def _covered(figure: Figure) -> float:
    """Share of the face under what is drawn later: arms, hands, bottles, bands, furniture."""
    parts = [shape.part for shape in figure.person]
    later = figure.person[parts.index("head") + 1 :]
    points = _grid_in(_face(figure))
    hidden = np.zeros(len(points), dtype=bool)
    for shape in later:
        if shape.part not in OF_THE_HEAD:
            for outline in shape.outlines:
                hidden |= _in_polygon(points, outline)
    return float(hidden.mean())


def _blocks(prop: PlacedProp) -> list[tuple[float, float, float, float]]:
    """(left, right, bottom, top) of everything solid in a prop, backs of chairs included."""
    x, y, f = prop.at.real, prop.at.imag, prop.facing
    if prop.kind == "wall":
        return [(x, x + 400.0, -1.0, 400.0) if f > 0 else (x - 400.0, x, -1.0, 400.0)]
    if prop.kind == "chair_back":
        left, right = sorted((x + f * 5.0, x + f * (DEPTHS["chair"] + 2.5)))
        return [(left, right, y - CHAIR_BACK - SLABS["chair"], y - CHAIR_BACK)]
    if prop.kind not in SLABS:
        return []
    left, right = sorted((x, x + f * DEPTHS[prop.kind]))
    low = {"bench": 0.0, "step": 0.0}.get(prop.kind, y - SLABS[prop.kind])
    return [(left, right, low, y)]


LIMBS = (
    ("hip", "knee"),
    ("knee", "ankle"),
    ("heel", "toe"),
    ("shoulder", "elbow"),
    ("elbow", "wrist"),
)


def _lines(bones: Skeleton) -> dict[str, np.ndarray]:
    share = np.linspace(0.0, 1.0, 25)
    found = {"trunk": bones.hips + share * (bones.shoulders - bones.hips)}
    for side in SIDES:
        for first, last in LIMBS:
            start, end = bones[f"{first}_{side}"], bones[f"{last}_{side}"]
            found[f"{first}_{side}"] = start + share * (end - start)
    return found


def _depth(points: np.ndarray, block: tuple[float, float, float, float]) -> float:
    """How far the deepest point is from the nearest edge of a block, cm; 0 outside."""
    left, right, bottom, top = block
    ways = np.stack(
        [points.real - left, right - points.real, points.imag - bottom, top - points.imag]
    )
    return float(np.maximum(ways.min(axis=0), 0.0).max())


def _deepest_bone(bones: Skeleton) -> float:
    """How far the deepest bone runs inside furniture, cm."""
    # From in front, furniture beside or behind the person is not in her way.
    props = [p for p in bones.props if bones.view is View.SIDE or p.kind in ("step", "bench")]
    lines = np.concatenate(list(_lines(bones).values()))
    return max((_depth(lines, block) for prop in props for block in _blocks(prop)), default=0.0)


@BODIES
@RUNGS
def test_no_bone_runs_through_furniture(rung: Rung, body: Body) -> None:
    for one in _moments(rung, body):
        bones, _ = touching(one)
        assert _deepest_bone(bones) <= BONE_IN * bones.scale


@BODIES
@RUNGS
def test_faces_are_clear_of_furniture(rung: Rung, body: Body) -> None:
    for one in _moments(rung, body):
        figure = drawn(one, LOOKS["grace"])
        face = _face(figure)
        for prop in figure.bones.props:
            for block in _blocks(prop):
                assert _depth(face, block) < 0.5, (prop.kind, round(_depth(face, block), 1))


@BODIES
@RUNGS
def test_faces_are_not_hidden_by_hands_or_what_they_hold(rung: Rung, body: Body) -> None:
    for one in _moments(rung, body):
        covered = _covered(drawn(one, LOOKS["kenji"]))
        assert covered <= FACE_COVERED, round(covered, 2)


@pytest.mark.parametrize("family", [family for family in Family if CATALOGUE.rungs(family)])
def test_so_it_is_at_every_dial_setting(family: Family) -> None:
    for rung in CATALOGUE.rungs(family):
        for k, setting in enumerate(shaping_settings(rung)):
            body = (SMALL, MIDDLE, TALL)[k % 3]
            found, refused = skeletons_of(scene(rung.id, setting, body=body), 2)
            for one in () if refused else found:
                figure = drawn(one, LOOKS["grace"])
                where = (rung.id, setting, body.stature)
                assert _deepest_bone(figure.bones) <= BONE_IN * figure.bones.scale, where
                assert _covered(figure) <= FACE_COVERED, where
                face = _face(figure)
                blocks = [block for prop in figure.bones.props for block in _blocks(prop)]
                assert all(_depth(face, block) < 0.5 for block in blocks), where
