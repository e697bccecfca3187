"""The pale figure that shows where a movement started, and the clock of a position to hold."""

import numpy as np

from core.figure.arrow import HALO, Area
from core.figure.composition import Figure
from core.figure.shapes import Shape, disc, mixed, stroke
from core.mechanics.pose import View

GHOST = "#dcd8cd"
SHEER = 0.62  # opacity of a ghost that lies on the body
MOVED = 4.5  # cm: parts that moved less have no ghost, it would only blur their outline
CLOCK = "#2b2a33"

_JOINTS = {
    "arm": ("elbow", "wrist"),
    "sleeve": ("elbow",),
    "bottle": ("wrist",),
    "leg": ("knee", "ankle"),
    "thigh": ("knee",),
    "shin": ("knee", "ankle"),
    "sock": ("ankle",),
    "shoe": ("ankle", "toe"),
    "sole": ("ankle", "toe"),
}
_SKIPPED = ("seam", "lace", "knuckles", "collar", "band", "rail")


def _moved(start: Figure, end: Figure, part: str) -> bool:
    kind, _, side = part.partition("_")
    if kind in _SKIPPED:
        return False
    names = [f"{joint}_{side}" for joint in _JOINTS.get(kind, ())]
    if not names:
        names = ["crown", "shoulder_near", "hip_near"]
    return max(abs(end.bones[name] - start.bones[name]) for name in names) >= MOVED


def ghost_below(start: Figure, end: Figure) -> list[Shape]:
    """The start in one pale colour, to be drawn before the end; only what has moved."""
    return [s.painted(GHOST) for s in start.person if _moved(start, end, s.part)]


def with_ghost_on_top(start: Figure, end: Figure) -> list[Shape]:
    """The end's person; a near arm that moved over a still body has its ghost on that body."""
    over = [
        outline
        for shape in start.person
        if shape.part in ("arm_near", "sleeve_near") and _moved(start, end, shape.part)
        for outline in shape.outlines
    ]
    person = list(end.person)
    if end.bones.view is View.FRONT or not over or _moved(start, end, "shirt"):
        return person
    first = next(k for k, shape in enumerate(person) if shape.part in ("arm_near", "bottle_near"))
    return [*person[:first], Shape("ghost", tuple(over), GHOST, opacity=SHEER), *person[first:]]


def clock(area: Area) -> list[Shape]:
    """A clock in the upper right corner: hold this."""
    size = (area.right - area.left) / 200.0
    at = area.right - 15.0 * size + 1j * (area.top - 17.5 * size)
    around = np.exp(2j * np.pi * np.arange(12) / 12)
    ticks = tuple(
        stroke(np.array([at + 7.4 * size * t, at + 8.6 * size * t]), 0.9 * size)
        for t in around[::3]
    )
    hands = (
        stroke(np.array([at, at + 6.2j * size]), 1.5 * size),
        stroke(np.array([at, at + 4.2 * size * np.exp(-0.35j)]), 1.5 * size),
    )
    knob = stroke(np.array([at + 10.2j * size, at + 12.8j * size]), 3.0 * size)
    return [
        Shape("clock", (disc(at, 10.6 * size), knob), CLOCK),
        Shape("clock", (disc(at, 9.2 * size),), HALO),
        Shape("clock", ticks, mixed(CLOCK, HALO, 0.35)),
        Shape("clock", hands, CLOCK),
    ]
