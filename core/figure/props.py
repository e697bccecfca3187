"""Furniture and hand-held things at true size, from the side."""

import numpy as np

from core.figure.prop_sizes import CHAIR_BACK, CHAIR_RECLINE, DEPTHS, SLABS
from core.figure.shapes import Outline, Shape, box, disc, mixed, smooth, stroke
from core.figure.skeleton import PlacedProp

WOOD = "#c79a63"
WOOD_DARK = "#a0743f"
WOOD_DEEP = "#855c30"
COUNTER = "#d8d4cb"
COUNTER_TOP = "#8d8780"
WALL = "#e3dccd"
WALL_EDGE = "#bcae93"
SKIRTING = "#f6f2e8"
CUSHION = "#7d94b5"
MAT = "#9db8a6"
STEP = "#b7ab98"
BOTTLE = "#9fcbe6"
WATER = "#6db0dc"
CAP = "#37618f"
BAND = "#7a3fb0"

TAPE = "#c8451b"
FLAT_THINGS = {"mat": MAT, "pad": CUSHION, "tape": TAPE}
"""What lies on the floor, by its colour."""

FAR_END = 150.0  # walls go on past the edge of the picture, cm


def rod(first: complex, last: complex, width: float) -> Outline:
    """A straight rod with round ends."""
    return stroke(np.array([first, (first + last) / 2, last], dtype=np.complex128), width)


def leg_of(top: complex, foot: complex, width: float, narrow: float) -> Outline:
    """A table or chair leg, narrower at the foot."""
    return np.array([top - width / 2, top + width / 2, foot + narrow / 2, foot - narrow / 2])


def chair(edge: complex, facing: int) -> list[Shape]:
    """A wooden chair whose front edge is at ``edge`` and whose seat goes on to ``facing``."""
    x, y = edge.real, edge.imag
    depth, slab = DEPTHS["chair"], SLABS["chair"]
    f = float(facing)
    back_x = x + f * (depth - 2.5)
    front_x = x + f * 4.0
    top = back_x + f * CHAIR_RECLINE + 1j * (y + CHAIR_BACK)
    seat_foot = back_x + 1j * (y - 2.0)
    rear_foot = back_x + f * 3.5 + 0j
    low, high = sorted((front_x, back_x + f * 2.0))
    inner = sorted((x, x + f * depth))
    post = np.concatenate(
        [
            [seat_foot - 2.2, seat_foot + 2.2, top + 1.6],
            top + 1.6 * np.exp(1j * np.linspace(0.3, np.pi - 0.3, 6)),
            [top - 1.6],
        ]
    )
    pad = f * 1.2
    slat = [
        np.array(
            [
                _on(seat_foot, top, a) - 1.9 - pad,
                _on(seat_foot, top, a) + 1.9 - pad,
                _on(seat_foot, top, b) + 1.9 - pad,
                _on(seat_foot, top, b) - 1.9 - pad,
            ]
        )
        for a, b in ((0.42, 0.60), (0.72, 0.985))
    ]
    return [
        Shape("chair", (box(low, high, y * 0.42, y * 0.42 + 2.4, 1.0),), WOOD_DEEP),
        Shape(
            "chair",
            (
                leg_of(front_x + 1j * (y - 1), front_x + 0j, 4.2, 3.2),
                leg_of(seat_foot, rear_foot, 4.4, 3.2),
            ),
            WOOD_DARK,
        ),
        Shape("chair", (post,), WOOD_DARK),
        Shape("chair", tuple(slat), WOOD),
        Shape(
            "chair", (box(inner[0] + 2, inner[1] - 2, y - slab - 3.4, y - slab + 0.5),), WOOD_DARK
        ),
        Shape("chair", (box(inner[0], inner[1], y - slab, y, 1.5),), WOOD),
    ]


def chair_from_front(corner: complex, width: float = 0.0) -> list[Shape]:
    """A chair that looks at the viewer; ``corner`` is the left end of its front edge.

    Its middle is at x = 0 unless a ``width`` is given.
    """
    y, slab = corner.imag, SLABS["chair"]
    left, right = corner.real, corner.real + width if width else -corner.real
    posts = tuple(box(x - 2.0, x + 2.0, y, y + CHAIR_BACK, 1.5) for x in (left + 3, right - 3))
    slats = tuple(
        box(left + 3, right - 3, y + low, y + high, 1.0) for low, high in ((18, 26), (33, 43))
    )
    legs = tuple(leg_of(x + 1j * (y - 1), x + 0j, 4.4, 3.4) for x in (left + 3.4, right - 3.4))
    return [
        Shape("chair", slats, WOOD),
        Shape("chair", posts, WOOD_DARK),
        Shape("chair", (box(left + 4, right - 4, y * 0.34, y * 0.34 + 2.4),), WOOD_DEEP),
        Shape("chair", legs, WOOD_DARK),
        Shape("chair", (box(left + 2, right - 2, y - slab - 3.4, y - slab + 0.5),), WOOD_DARK),
        Shape("chair", (box(left, right, y - slab, y, 1.5),), WOOD),
    ]


def _on(foot: complex, top: complex, share: float) -> complex:
    return foot + (top - foot) * share


def table(edge: complex, facing: int, depth: float = DEPTHS["table"]) -> list[Shape]:
    """A table with a plain top."""
    y, slab = edge.imag, SLABS["table"]
    left, right = sorted((edge.real, edge.real + facing * depth))
    legs = tuple(leg_of(x + 1j * (y - slab), x + 0j, 5.2, 4.0) for x in (left + 8.0, right - 8.0))
    return [
        Shape("table", (box(left + 6, right - 6, y - slab - 6.5, y - slab + 0.5),), WOOD_DEEP),
        Shape("table", legs, WOOD_DARK),
        Shape("table", (box(left, right, y - slab, y, 1.4),), WOOD),
    ]


def bench(edge: complex, facing: int) -> list[Shape]:
    """A kitchen bench: worktop over cupboards with a recessed foot."""
    y, slab, f = edge.imag, SLABS["bench"], float(facing)
    near, far = edge.real, edge.real + f * DEPTHS["bench"]
    left, right = sorted((near, far))
    body = sorted((near + f * 4.0, far))
    foot = sorted((near + f * 9.0, far))
    seam = near + f * 4.0 + f * 27.0
    doors = y - slab - 14.0
    handles = tuple(
        box(x - 4.0, x + 4.0, doors - 6.5, doors - 5.2, 0.6)
        for x in (near + f * 17.0, near + f * 45.0)
    )
    return [
        Shape("bench", (box(foot[0], foot[1], 0.0, 10.0),), mixed(COUNTER_TOP, "#302b28", 0.35)),
        Shape("bench", (box(body[0], body[1], 9.0, y - slab + 0.5),), COUNTER),
        Shape(
            "bench",
            (
                box(seam - 0.35, seam + 0.35, 9.0, doors),
                box(body[0], body[1], doors - 0.35, doors + 0.35),
            ),
            mixed(COUNTER, COUNTER_TOP, 0.7),
        ),
        Shape("bench", handles, COUNTER_TOP),
        Shape("bench", (box(left, right, y - slab, y, 1.2),), COUNTER_TOP),
    ]


def bench_beside(start: complex, length: float) -> list[Shape]:
    """A kitchen bench seen from in front: it runs along behind the person."""
    y, slab = start.imag, SLABS["bench"]
    left, right = start.real, start.real + length
    doors = y - slab - 14.0
    seams = tuple(box(x - 0.35, x + 0.35, 9.0, y - slab) for x in np.arange(left, right, 45.0))
    handles = tuple(
        box(x + 18.0, x + 27.0, doors - 6.5, doors - 5.2, 0.6) for x in np.arange(left, right, 45.0)
    )
    pale = mixed(COUNTER, "#faf5ea", 0.45)
    return [
        Shape("run", (box(left, right, 0.0, 10.0),), mixed(COUNTER_TOP, "#302b28", 0.2)),
        Shape("run", (box(left, right, 9.0, y - slab + 0.5),), pale),
        Shape(
            "run",
            (*seams, box(left, right, doors - 0.35, doors + 0.35)),
            mixed(pale, COUNTER_TOP, 0.55),
        ),
        Shape("run", handles, mixed(COUNTER_TOP, pale, 0.3)),
        Shape("run", (box(left, right, y - slab, y),), mixed(COUNTER_TOP, pale, 0.25)),
    ]


def step(edge: complex, facing: int) -> list[Shape]:
    """A low step with a tread."""
    y = edge.imag
    left, right = sorted((edge.real, edge.real + facing * DEPTHS["step"]))
    tread = min(SLABS["step"], y / 2)
    inner = sorted((edge.real + facing * 2.0, edge.real + facing * DEPTHS["step"]))
    return [
        Shape("step", (box(inner[0], inner[1], 0.0, y - tread + 0.5),), STEP),
        Shape("step", (box(left, right, y - tread, y, 1.2),), WOOD_DARK),
    ]


def wall(x: float, facing: int) -> list[Shape]:
    """A wall seen edge-on, with its skirting board."""
    far = x + facing * FAR_END
    left, right = sorted((x, far))
    edge = sorted((x, x + facing * 2.2))
    board = sorted((x, x + facing * FAR_END))
    return [
        Shape("wall", (box(left, right, 0.0, 320.0),), WALL),
        Shape("wall", (box(edge[0], edge[1], 0.0, 320.0),), WALL_EDGE),
        Shape("wall", (box(board[0], board[1], 0.0, 8.0),), SKIRTING),
        Shape("wall", (box(edge[0], edge[1], 0.0, 8.0),), mixed(SKIRTING, WALL_EDGE, 0.6)),
    ]


def wall_beside() -> list[Shape]:
    """A wall behind the person, along the way she faces."""
    left, right = -2 * FAR_END, 3 * FAR_END
    return [
        Shape("wall", (box(left, right, 0.0, 320.0),), mixed(WALL, "#faf5ea", 0.45)),
        Shape("wall", (box(left, right, 0.0, 9.0),), SKIRTING),
        Shape("wall", (box(left, right, 8.6, 9.4),), WALL_EDGE),
    ]


def rail(low: complex, high: complex, *, near: bool) -> list[Shape]:
    """A handrail: on the wall behind the person, or on two posts before her."""
    colour = WOOD if near else WOOD_DEEP
    bar = rod(low, high, 3.4)
    ends = (low + 0.12 * (high - low), low + 0.9 * (high - low))
    if near:
        posts = tuple(leg_of(at, at.real + 0j, 3.0, 3.0) for at in ends)
    else:
        posts = tuple(rod(at, at - 3.6j, 1.6) for at in ends)
    return [Shape("rail", posts, mixed(colour, WOOD_DEEP, 0.5)), Shape("rail", (bar,), colour)]


def cushion(edge: complex, thick: float, facing: int) -> list[Shape]:
    """A firm cushion on a seat; ``edge`` is at its top."""
    left, right = sorted((edge.real + facing * 1.0, edge.real + facing * DEPTHS["cushion"]))
    top, bottom = edge.imag, edge.imag - 100.0 * thick
    return [
        Shape("cushion", (box(left, right, bottom, top, 2.4),), CUSHION),
        Shape(
            "cushion",
            (box(left + 1.5, right - 1.5, (top + bottom) / 2 - 0.3, (top + bottom) / 2 + 0.3),),
            mixed(CUSHION, "#26364e", 0.35),
        ),
    ]


def roll(centre: complex, thick: float) -> list[Shape]:
    """A rolled towel on the floor, seen from its end."""
    radius = 50.0 * thick
    rings = tuple(
        Shape("roll", (disc(centre, radius * share),), mixed(CUSHION, "#ffffff", white))
        for share, white in ((1.0, 0.1), (0.7, 0.35), (0.4, 0.1))
    )
    return [*rings]


def mat(start: complex, end: complex, colour: str) -> list[Shape]:
    """A mat on the floor, seen a little from above: it never rises over the floor line."""
    left, right = sorted((start.real, end.real))
    surface = np.array([left + 2.0, right + 1.0, right - 1.5 - 3.4j, left - 1.5 - 3.4j]) - 0.1j
    border = np.array([left - 1.5, right - 1.5, right - 1.5 - 1.0j, left - 1.5 - 1.0j]) - 3.4j
    return [
        Shape("mat", (surface,), colour),
        Shape("mat", (border,), mixed(colour, "#26364e", 0.35)),
    ]


def bottle(at: complex, kilograms: float, way: complex) -> list[Shape]:
    """A filled bottle gripped around its middle, lying along ``way``."""
    size = max(kilograms, 0.3) ** (1 / 3)
    half, radius = 11.5 * size, 3.9 * size
    n = way * 1j

    def along(points: tuple[tuple[float, float], ...]) -> Outline:
        return np.array([at + way * half * a + n * radius * b for a, b in points])

    body = smooth(
        along(
            (
                (-1.0, -0.8),
                (-1.0, 0.8),
                (-0.92, 1.0),
                (-0.2, 1.0),
                (0.3, 1.0),
                (0.62, 0.85),
                (0.84, 0.42),
                (0.84, -0.42),
                (0.62, -0.85),
                (0.3, -1.0),
                (-0.2, -1.0),
                (-0.92, -1.0),
            )
        ),
        3,
    )
    label = along(((-0.55, -1.0), (0.25, -1.0), (0.25, 1.0), (-0.55, 1.0)))
    cap = along(((0.82, -0.42), (1.02, -0.42), (1.02, 0.42), (0.82, 0.42)))
    shine = along(((-0.9, 0.45), (0.55, 0.45), (0.5, 0.68), (-0.9, 0.68)))
    return [
        Shape("bottle", (body,), WATER, mixed(WATER, "#1c4a70", 0.45), 0.4),
        Shape("bottle", (label,), mixed(BOTTLE, "#ffffff", 0.45)),
        Shape("bottle", (shine,), mixed(BOTTLE, "#ffffff", 0.6)),
        Shape("bottle", (cap,), CAP),
    ]


def bottle_from_end(at: complex, kilograms: float) -> list[Shape]:
    """A filled bottle that lies across, seen from its bottom end."""
    radius = 3.9 * max(kilograms, 0.3) ** (1 / 3)
    return [
        Shape("bottle", (disc(at, radius),), WATER, mixed(WATER, "#1c4a70", 0.45), 0.4),
        Shape("bottle", (disc(at, 0.62 * radius),), mixed(BOTTLE, "#ffffff", 0.45)),
        Shape("bottle", (disc(at, 0.3 * radius),), WATER),
    ]


def band(start: complex, end: complex) -> list[Shape]:
    """An elastic band pulled straight."""
    return [Shape("band", (rod(start, end, 2.0),), BAND)]


def furniture(prop: PlacedProp) -> list[Shape]:
    """The shapes of a prop that stands in the room; none for what is held."""
    if prop.kind == "chair":
        return chair(prop.at, prop.facing)
    if prop.kind == "chair_back":
        # The person stands behind the chair; its front edge is on the far side.
        seat = prop.at.imag - CHAIR_BACK
        front = prop.at.real + prop.facing * (DEPTHS["chair"] - 2.5 + CHAIR_RECLINE)
        return chair(front + 1j * seat, -prop.facing)
    if prop.kind == "chair_front":
        return chair_from_front(prop.at)
    if prop.kind == "chair_beside":
        return chair_from_front(prop.at, DEPTHS["chair_beside"])
    if prop.kind == "table_beside":
        return table(prop.at, prop.facing, DEPTHS["table_beside"])
    if prop.kind == "bench_beside":
        return bench_beside(prop.at, DEPTHS["bench_beside"])
    if prop.kind == "cushion":
        return cushion(prop.at, prop.size, prop.facing)
    if prop.kind == "roll":
        return roll(prop.at, prop.size)
    if prop.kind == "wall_beside":
        return wall_beside()
    if prop.kind == "wall":
        return wall(prop.at.real, prop.facing)
    if prop.kind in FLAT_THINGS and prop.to is not None:
        return mat(prop.at, prop.to, FLAT_THINGS[prop.kind])
    shapes = {"table": table, "bench": bench, "step": step}.get(prop.kind)
    return shapes(prop.at, prop.facing) if shapes else []
