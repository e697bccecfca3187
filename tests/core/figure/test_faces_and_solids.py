"""Faces stay in view and out of furniture, no bone runs through it: every rung, three bodies."""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import pytest
from matplotlib.path import Path

from core.figure.composition import Figure, drawn
from core.figure.people import LOOKS
from core.figure.prop_sizes import CHAIR_BACK, DEPTHS, SLABS
from core.figure.scene import Scene
from core.figure.shapes import Outline
from core.figure.skeleton import PlacedProp, Skeleton
from core.figure.stage import skeletons_of
from core.mechanics.body import Body
from core.mechanics.pose import SIDES, View
from core.movements.catalogue import Rung
from core.vocabulary import Sex
from tests.core.figure.scenes import CATALOGUE, scene, shaping_settings

BODIES = (
    Body(Sex.FEMALE, 1.50, 55.0),
    Body(Sex.FEMALE, 1.65, 70.0),
    Body(Sex.MALE, 1.85, 90.0),
)

FACE_COVERED = 0.12  # share of a face that a hand, a bottle or a band may cover
BONE_IN = 3.0  # cm a bone may run inside a block: it lies on it, flesh gives way
FACE_IN = 0.5  # cm a face may be inside a block


def _in_polygon(points: np.ndarray, outline: Outline) -> np.ndarray:
    """Which points lie inside a closed outline."""
    return Path(np.column_stack([outline.real, outline.imag])).contains_points(
        np.column_stack([points.real, points.imag])
    )


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


def _scenes(rung: Rung) -> Iterator[tuple[Scene, int]]:
    """What is drawn of a rung, each with how many moments of it.

    The plain rung on every body, closely; each dial setting on one body, its start and end.
    """
    for body in BODIES:
        yield scene(rung.id, body=body, look="kenji"), 5
    for k, setting in enumerate(shaping_settings(rung)[1:], 1):
        yield scene(rung.id, setting, BODIES[k % len(BODIES)], "grace"), 2


def _faults(figure: Figure) -> Iterator[str]:
    bones = figure.bones
    if (deep := _deepest_bone(bones)) > BONE_IN * bones.scale:
        yield f"a bone runs {deep:.1f} cm inside furniture"
    if (covered := _covered(figure)) > FACE_COVERED:
        yield f"{covered:.0%} of the face is hidden"
    face = _face(figure)
    for prop in bones.props:
        if (deep := max((_depth(face, block) for block in _blocks(prop)), default=0.0)) >= FACE_IN:
            yield f"the face is {deep:.1f} cm inside the {prop.kind}"


@pytest.mark.parametrize("rung", list(CATALOGUE), ids=lambda rung: rung.id)
def test_faces_are_clear_and_no_bone_runs_through_furniture(rung: Rung) -> None:
    found = []
    for one, moments in _scenes(rung):
        bones, refused = skeletons_of(one, moments)
        # A high seat may be refused to the small; any other plain rung is drawn for everybody.
        raised = one.setting or "cushion" in rung.needs
        assert raised if refused else len(bones) >= 2
        found += [
            f"{one.body.stature:.2f} m, {one.setting or 'plain'}, moment {moment}: {fault}"
            for moment, skeleton in enumerate(bones)
            for fault in _faults(drawn(skeleton, one.look))
        ]
    assert found == []


def test_each_kind_of_fault_is_noticed() -> None:
    clear = drawn(skeletons_of(scene("push_wall"), 2)[0][0], LOOKS["kenji"])
    assert list(_faults(clear)) == []

    face = _face(clear)
    hand = next(shape for shape in clear.person if shape.part.startswith("sleeve"))
    behind_a_hand = replace(clear, person=(*clear.person, replace(hand, outlines=(face,))))
    assert list(_faults(behind_a_hand)) == ["100% of the face is hidden"]

    bench = PlacedProp("bench", complex(face.real.min(), face.imag.max()), None, 90.0, 1)
    in_a_bench = replace(clear, bones=replace(clear.bones, props=(bench,)))
    bone, head = _faults(in_a_bench)
    assert bone.endswith("cm inside furniture")
    assert head.endswith("cm inside the bench")
