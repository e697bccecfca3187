"""Flat shapes in centimetres: what a figure is made of before there are pixels.

A point is a complex number as in :mod:`core.mechanics.pose`, but in centimetres. Every shape is one
or more closed outlines filled with one colour; lines are thin closed outlines too.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

Outline = NDArray[np.complex128]

SPLINE_STEPS = 5


@dataclass(frozen=True, slots=True, eq=False)
class Shape:
    """Outlines that share a colour.

    Attributes:
        part: what it is, like "thigh_near" or "chair"; the part before "_" is the kind.
        outlines: closed outlines, cm; where they overlap they are one surface.
        fill: colour as "#rrggbb".
        edge: colour of a line around the united outlines, "" for none.
        edge_width: width of that line, cm.
        opacity: 1 covers what lies below.
    """

    part: str
    outlines: tuple[Outline, ...]
    fill: str
    edge: str = ""
    edge_width: float = 0.0
    opacity: float = 1.0

    def with_outlines(self, outlines: tuple[Outline, ...]) -> "Shape":
        """The shape with other outlines."""
        return replace(self, outlines=outlines)

    def moved(self, by: complex) -> "Shape":
        """The shape shifted by a vector in cm."""
        return self.with_outlines(tuple(outline + by for outline in self.outlines))

    def painted(self, fill: str, edge: str = "", opacity: float = 1.0) -> "Shape":
        """The shape in one other colour, its edge too."""
        width = self.edge_width if edge else 0.0
        return replace(self, fill=fill, edge=edge, edge_width=width, opacity=opacity)

    @property
    def lowest(self) -> float:
        """Height of the lowest point, cm."""
        return min(float(outline.imag.min()) for outline in self.outlines)


def smooth(points: Sequence[complex] | Outline, steps: int = SPLINE_STEPS) -> Outline:
    """A closed Catmull-Rom spline through the points."""
    at = np.asarray(points, dtype=np.complex128)
    before, after, beyond = np.roll(at, 1), np.roll(at, -1), np.roll(at, -2)
    t = (np.arange(steps) / steps)[None, :]
    a, b, c, d = (p[:, None] for p in (before, at, after, beyond))
    curve = 0.5 * (
        2 * b + (c - a) * t + (2 * a - 5 * b + 4 * c - d) * t**2 + (3 * b - a - 3 * c + d) * t**3
    )
    return np.asarray(curve.ravel())


_CIRCLE = np.exp(2j * np.pi * np.arange(28) / 28)


def disc(at: complex, radius: float) -> Outline:
    """A circle."""
    return np.asarray(at + radius * _CIRCLE)


def oval(at: complex, along: float, across: float, direction: complex = 1.0) -> Outline:
    """An ellipse with its first half-axis along ``direction``."""
    return np.asarray(at + direction * (along * _CIRCLE.real + 1j * across * _CIRCLE.imag))


def tube(
    start: complex,
    end: complex,
    left: Sequence[tuple[float, float]],
    right: Sequence[tuple[float, float]],
    *,
    round_start: bool = True,
    round_end: bool = True,
) -> Outline:
    """A limb piece around the line from ``start`` to ``end`` with smooth sides.

    ``left`` and ``right`` give (share of the way, distance from the line in cm) as seen when
    walking from start to end.
    """
    along = end - start
    length = max(abs(along), 1e-6)
    way = along / length
    side = way * 1j
    t = np.linspace(0.0, 1.0, 9)
    lefts = _profile(t, left)
    rights = _profile(t, right)
    line = start + along * t
    pieces = [line + side * lefts]
    if round_end:
        pieces.append(_cap(end, way, side, float(lefts[-1]), float(rights[-1])))
    pieces.append((line - side * rights)[::-1])
    if round_start:
        pieces.append(_cap(start, -way, -side, float(rights[0]), float(lefts[0])))
    return np.concatenate(pieces)


def _profile(t: NDArray[np.float64], knots: Sequence[tuple[float, float]]) -> NDArray[np.float64]:
    """Distances at ``t`` through the knots, eased between them."""
    at = [k for k, _ in knots]
    values = np.array([v for _, v in knots])
    place = np.clip(np.searchsorted(at, t, side="right") - 1, 0, len(knots) - 2)
    low = np.array(at)[place]
    high = np.array(at)[place + 1]
    u = np.clip((t - low) / (high - low), 0.0, 1.0)
    eased = u * u * (3 - 2 * u) * 0.6 + u * 0.4
    return np.asarray(values[place] + (values[place + 1] - values[place]) * eased)


def _cap(at: complex, way: complex, side: complex, first: float, last: float) -> Outline:
    angles = np.linspace(0, np.pi, 9)[1:-1]
    radius = first + (last - first) * angles / np.pi
    return np.asarray(at + radius * (side * np.cos(angles) + way * np.sin(angles)))


def stroke(points: Sequence[complex] | Outline, width: float, taper: float = 1.0) -> Outline:
    """A line of some width as a closed outline with round ends; ``taper`` is the end's share."""
    at = np.asarray(points, dtype=np.complex128)
    direction = np.gradient(at)
    direction = direction / np.maximum(np.abs(direction), 1e-9)
    half = width / 2 * np.linspace(1.0, taper, len(at))
    left, right = at + direction * 1j * half, at - direction * 1j * half
    return np.concatenate(
        [
            left,
            _cap(
                complex(at[-1]),
                complex(direction[-1]),
                complex(direction[-1] * 1j),
                half[-1],
                half[-1],
            ),
            right[::-1],
            _cap(
                complex(at[0]),
                complex(-direction[0]),
                complex(-direction[0] * 1j),
                half[0],
                half[0],
            ),
        ]
    )


def open_curve(points: Sequence[complex] | Outline, steps: int = 6) -> Outline:
    """A smooth open line through the points."""
    at = np.asarray(points, dtype=np.complex128)
    padded = np.concatenate([[2 * at[0] - at[1]], at, [2 * at[-1] - at[-2]]])
    t = (np.arange(steps) / steps)[None, :]
    a, b, c, d = (padded[k : len(padded) - 3 + k, None] for k in range(4))
    curve = 0.5 * (
        2 * b + (c - a) * t + (2 * a - 5 * b + 4 * c - d) * t**2 + (3 * b - a - 3 * c + d) * t**3
    )
    return np.concatenate([curve.ravel(), at[-1:]])


def box(left: float, right: float, bottom: float, top: float, corner: float = 0.0) -> Outline:
    """A rectangle, its corners rounded."""
    if corner <= 0.0:
        return np.array(
            [left + 1j * bottom, right + 1j * bottom, right + 1j * top, left + 1j * top]
        )
    r = min(corner, (right - left) / 2, (top - bottom) / 2)
    turn = np.exp(1j * np.linspace(0.0, np.pi / 2, 5))
    corners = (
        (right - r + 1j * (top - r), 1.0),
        (left + r + 1j * (top - r), 1j),
        (left + r + 1j * (bottom + r), -1.0),
        (right - r + 1j * (bottom + r), -1j),
    )
    return np.concatenate([at + r * way * turn for at, way in corners])


def mixed(first: str, second: str, share: float) -> str:
    """The colour ``share`` of the way from ``first`` to ``second``."""
    a = [int(first[k : k + 2], 16) for k in (1, 3, 5)]
    b = [int(second[k : k + 2], 16) for k in (1, 3, 5)]
    return "#" + "".join(f"{round(x + (y - x) * share):02x}" for x, y in zip(a, b, strict=True))


def lowest_of(shapes: Iterable[Shape]) -> float:
    """Height of the lowest point of all shapes, cm."""
    return min(shape.lowest for shape in shapes)
