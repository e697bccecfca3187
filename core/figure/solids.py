"""Which parts of the room are solid, and how body shapes keep out of them.

Soft parts are pressed flat where they touch; a head moves away as a whole.
"""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from core.figure.prop_sizes import DEPTHS, SLABS
from core.figure.shapes import Outline, Shape
from core.figure.skeleton import PlacedProp, Skeleton

FAR = 1e4


@dataclass(frozen=True, slots=True)
class Solid:
    """A block of the room that no body part may enter, cm.

    ``ways`` are the directions in which it pushes things out: up, left or right.
    """

    left: float
    right: float
    bottom: float
    top: float
    ways: str = "up"

    def depth(self, points: Outline) -> float:
        """How deep the deepest of the points lies inside, cm; 0 outside."""
        inside, ways = self._inside(points)
        return float(ways.min(axis=0)[inside].max()) if inside.any() else 0.0

    def pushed(self, outline: Outline) -> Outline:
        """The outline with every point inside the block moved out by the shortest way."""
        inside, ways = self._inside(outline)
        if not inside.any():
            return outline
        shortest = np.argmin(ways, axis=0)
        out = outline.copy()
        for k, way in enumerate(self.ways.split()):
            chosen = inside & (shortest == k)
            out[chosen] = outline[chosen] + _DIRECTIONS[way] * ways[k][chosen]
        return np.asarray(out)

    def escape(self, outlines: Iterable[Outline]) -> complex:
        """The one move that brings all outlines out of the block."""
        points = np.concatenate(list(outlines))
        inside, ways = self._inside(points)
        if not inside.any():
            return 0j
        deepest = ways[:, inside].max(axis=1)
        k = int(np.argmin(deepest))
        return _DIRECTIONS[self.ways.split()[k]] * float(deepest[k])

    def _inside(self, points: Outline) -> tuple[np.ndarray, np.ndarray]:
        x, y = points.real, points.imag
        inside = (x > self.left) & (x < self.right) & (y > self.bottom) & (y < self.top)
        out = {"up": self.top - y, "left": x - self.left, "right": self.right - x}
        return inside, np.stack([out[way] for way in self.ways.split()])


_DIRECTIONS = {"up": 1j, "left": -1.0 + 0j, "right": 1.0 + 0j}

FLOOR = Solid(-FAR, FAR, -FAR, 0.0)

SEAT_GIVES = 14.0  # cm below a seat's top in which a thigh is still lifted onto it


def solids_of(prop: PlacedProp) -> tuple[Solid, ...]:
    """The solid blocks of a prop: seat, top, step or wall; legs and backs are not solid."""
    x, y = prop.at.real, prop.at.imag
    towards = "left" if prop.facing > 0 else "right"
    if prop.kind == "wall":
        left, right = (x, FAR) if prop.facing > 0 else (-FAR, x)
        return (Solid(left, right, -FAR, FAR, towards),)
    if prop.kind not in DEPTHS or prop.kind == "bench_beside":
        return ()
    left, right = sorted((x, x + prop.facing * DEPTHS[prop.kind]))
    if prop.kind == "step":
        return (Solid(left, right, -1.0, y, f"up {towards}"),)
    if prop.kind in ("table", "bench"):
        return (Solid(left, right, y - SLABS[prop.kind], y, f"up {towards}"),)
    return (Solid(left, right, y - SEAT_GIVES, y, f"up {towards}"),)


_ON_SEATS = ("pelvis", "thigh", "shirt")
_ON_TOPS = ("arm", "sleeve", "seam", "knuckles")
_SITS = 16.0  # cm from a seat to the hips of a sitter, at most


def blocks_for(part: str, bones: Skeleton) -> list[Solid]:
    """The blocks that a part of the body may not enter.

    Arms hang beside a seat, not in it; standing legs hide its edge; the chest comes down in front
    of a table's edge.
    """
    kind = part.split("_")[0]
    blocks = [FLOOR]
    for prop in bones.props:
        if prop.kind in ("chair", "chair_beside", "cushion"):
            sits = bones.hips.imag < prop.at.imag + _SITS * bones.scale
            if kind not in _ON_SEATS or not sits:
                continue
        if prop.kind in ("table", "bench") and kind not in _ON_TOPS:
            continue
        blocks.extend(solids_of(prop))
    return blocks


def kept_out(shapes: Iterable[Shape], bones: Skeleton) -> tuple[list[Shape], dict[str, float]]:
    """Body shapes pressed flat against what they touch, and how deep each part was pressed, cm."""
    kept: list[Shape] = []
    pressed: dict[str, float] = {}
    for shape in shapes:
        outlines = []
        for outline in shape.outlines:
            now = outline
            for block in blocks_for(shape.part, bones):
                now = block.pushed(now)
            outlines.append(now)
            depth = float(np.abs(now - outline).max())
            pressed[shape.part] = max(pressed.get(shape.part, 0.0), depth)
        kept.append(shape.with_outlines(tuple(outlines)))
    return kept, pressed


def moved_out(outlines: Iterable[Outline], props: Iterable[PlacedProp]) -> complex:
    """How far something stiff, like a head, must move to be out of floor and walls."""
    blocks = [FLOOR, *(b for prop in props if prop.kind == "wall" for b in solids_of(prop))]
    found = list(outlines)
    shift = 0j
    for block in blocks:
        shift += block.escape([outline + shift for outline in found])
    return shift
