"""The one arrow of a picture: what moves most, and a free place beside it to say so."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from core.figure.prop_sizes import CHAIR_BACK, DEPTHS
from core.figure.shapes import Outline, Shape, stroke
from core.figure.skeleton import PlacedProp, Skeleton
from core.figure.solids import solids_of
from core.mechanics.pose import SIDES, View

ARROW = "#c8451b"
HALO = "#fffaf0"

STILL = 3.2  # cm: less than this is no movement
TRUNK_MOVES = 9.0  # cm: from here the arrow speaks of the whole body
LIMB_WEIGHTS = {"ankle": 1.2, "heel": 1.7, "toe": 1.0, "wrist": 1.0, "knee": 0.7, "elbow": 0.4}
KNEE_RISES = 6.5  # cm: a knee that is lifted so much tells a march, from the side
HEEL_RISES = 1.4  # cm: a heel that rises so much over toes that stay tells a heel raise
FOOT_TELLS = 8.0  # cm of a foot against the hips, from in front
BODY_WEIGHT = 1.3  # of a small movement of the whole body, over that of a limb
SHORTEST, LONGEST = 21.0, 52.0  # cm
PULSE_NEAR_END = 0.35  # of the way, from its middle towards its end: where pulses are
PULSE_LENGTH = 36.0  # of the arrow with two heads, cm
ROUND_SIZE = 0.85  # arrows that go round are drawn at most this large
ROOM = 36.0  # cm in view beyond the end of the movement

ROLL = "roll"
TURNED = 0.15  # radians: less is no turn
RING = (17.0, 5.5)  # half width and half height of the ring above a head that turns, cm
ABOVE_CROWN = 13.0  # middle of that ring above the crown, cm
ROLL_RADIUS = 12.0  # cm around the shoulder joint


@dataclass(frozen=True, slots=True)
class Area:
    """The visible part of the room in cm, and the corner that a badge takes."""

    left: float
    right: float
    bottom: float
    top: float
    badge: float = 20.0


def path_of(bones: Sequence[Skeleton]) -> Outline | None:
    """The way of the point that tells the movement; ``None`` where nothing moves."""
    told = bones[0].tells
    if told in bones[0].joints:
        return np.array([b[told] for b in bones])
    goes_round = _round_way(bones)
    if goes_round is not None:
        return goes_round
    trunk = np.array([(b.hips + b.shoulders) / 2 for b in bones])
    lower = np.array([b.hips for b in bones])
    upper = np.array([b.shoulders for b in bones])
    most = max(_reach(trunk), _reach(lower), _reach(upper))
    if bones[0].view is View.FRONT:
        # A foot that leaves the floor tells more than the weight that shifts for it.
        foot = np.array([b["ankle_near"] for b in bones])
        if _reach(foot - lower) > FOOT_TELLS:
            return np.asarray(foot - lower + lower[-1])
    elif most < TRUNK_MOVES and bones[0].prop("step") is None:
        knee = np.array([b["knee_near"] for b in bones])
        ankle = np.array([b["ankle_near"] for b in bones])
        if (knee - lower)[-1].imag - (knee - lower)[0].imag > KNEE_RISES and _hangs(knee, ankle):
            # A march is told as "knee up", whatever the knee does on the way.
            return np.asarray(knee[-1] - 1j * np.linspace((knee[-1] - knee[0]).imag, 0.0, 7))
    if most >= TRUNK_MOVES:
        if _reach(trunk) > 0.6 * most:
            return np.asarray(np.linspace(trunk[0], trunk[-1], 7))
        return lower if _reach(lower) > _reach(upper) else upper
    for side in reversed(SIDES) if bones[0].view is View.SIDE else ():
        heel, toe = (np.array([b[f"{name}_{side}"] for b in bones]) for name in ("heel", "toe"))
        if (heel[-1] - heel[0]).imag > HEEL_RISES > _reach(toe):
            return heel
    best, found = STILL, None
    if most > STILL:
        best = most * BODY_WEIGHT
        widest = max((trunk, lower, upper), key=_reach)
        found = np.asarray(np.linspace(widest[0], widest[-1], 7))
    for name, weight in LIMB_WEIGHTS.items():
        for side in SIDES:
            way = np.array([b[f"{name}_{side}"] for b in bones])
            if _reach(way) * weight > best + (0.5 if side == "far" else 0.0):
                best, found = _reach(way) * weight, way
    if found is None and _reach(np.array([b["crown"] for b in bones])) > STILL:
        return np.array([b["crown"] for b in bones])
    return found


def _round_way(bones: Sequence[Skeleton]) -> Outline | None:
    """The way of an arrow that goes round; ``None`` where nothing turns or rolls.

    Turning is shown as the front of a ring above the head, in the sense in which the face moves.
    """
    first, last = bones[0], bones[-1]
    if first.tells == ROLL:
        # Forward, up and back: for a face to +x that is against the clock.
        angles = np.radians(np.linspace(-35.0, 215.0, 40))
        middle = last["shoulder_near"] - 5.0 * last.scale * last.trunk
        return np.asarray(middle + ROLL_RADIUS * last.scale * np.exp(1j * angles))
    turn = last.turn - first.turn
    if abs(turn) < TURNED:
        return None
    angles = np.radians(np.linspace(200.0, 340.0, 30))
    ring = RING[0] * np.cos(angles) + 1j * RING[1] * np.sin(angles)
    if turn < 0.0:
        ring = -ring.conjugate()
    return np.asarray(last["crown"] + last.scale * (ABOVE_CROWN * 1j + ring))


def _hangs(knee: Outline, ankle: Outline) -> bool:
    """Whether a lifted shin hangs from its knee: upright enough, and off the floor."""
    shin = knee[-1] - ankle[-1]
    return bool(shin.imag > 0.6 * abs(shin) and ankle[-1].imag > ankle[0].imag + 4.0)


def _reach(way: Outline) -> float:
    return float(np.abs(way - way[0]).max())


def arrow(bones: Sequence[Skeleton], area: Area) -> list[Shape]:
    """The arrow over the end panel, from start to end of the movement; empty where none moves."""
    way = path_of(bones)
    if way is None:
        return []
    size = (area.right - area.left) / 200.0
    if _round_way(bones) is not None:
        return arrow_along(way, min(size, ROUND_SIZE))
    way = _of_length(way, size)
    if bones[0].pulses:
        way = way + PULSE_NEAR_END * (way[-1] - way[0])
        return _to_and_fro(way + _free_place(way, bones, area, size), size)
    return arrow_along(way + _free_place(way, bones, area, size), size)


def _to_and_fro(way: Outline, size: float) -> list[Shape]:
    """A short arrow with two heads."""
    middle, along = way[len(way) // 2], way[-1] - way[0]
    half = 0.5 * PULSE_LENGTH * size * along / max(abs(along), 1e-6)
    first = arrow_along(np.linspace(middle, middle + half, 15), size)
    second = arrow_along(np.linspace(middle, middle - half, 15), size)
    return [
        replace(one, outlines=one.outlines + other.outlines)
        for one, other in zip(first, second, strict=True)
    ]


def arrow_along(way: Outline, size: float = 1.0) -> list[Shape]:
    """A thick arrow along a line, with a pale rim so that it reads over anything."""
    tip, head = way[-1], 12.5 * size
    earlier = way[np.abs(way - tip) >= head]
    direction = tip - (earlier[-1] if len(earlier) else way[0])
    direction = direction / max(abs(direction), 1e-9)
    neck = tip - 0.8 * head * direction
    kept = way[np.abs(way - tip) > 1.1 * head]
    if len(kept) < 2:
        kept = np.array([way[0], (way[0] + neck) / 2])
    shaft = stroke(np.concatenate([kept, [neck + 0.1 * head * direction]]), 4.6 * size)
    point = np.array(
        [tip, neck + 0.62 * head * 1j * direction - 0.2 * head * direction,
         neck, neck - 0.62 * head * 1j * direction - 0.2 * head * direction]
    )  # fmt: skip
    return [
        Shape("arrow", (shaft, point), HALO, HALO, 1.5 * size),
        Shape("arrow", (shaft, point), ARROW, ARROW, 0.45 * size),
    ]


def _of_length(way: Outline, size: float) -> Outline:
    """The path evenly sampled, scaled about its middle to a length that reads.

    A short or winding path is told by the straight line from its start to its end.
    """
    chord = abs(way[-1] - way[0])
    length = float(np.abs(np.diff(way)).sum())
    if chord < 16.0 * size or length > 1.5 * chord or length < 1.06 * chord:
        curve = np.asarray(np.linspace(way[0], way[-1], 7))
    else:
        # One even bow through the middle of the way.
        t = np.linspace(0.0, 1.0, 25)
        bow = 2 * way[len(way) // 2] - (way[0] + way[-1]) / 2
        curve = way[0] * (1 - t) ** 2 + 2 * bow * t * (1 - t) + way[-1] * t**2
    steps = np.concatenate([[0.0], np.cumsum(np.abs(np.diff(curve)))])
    even = np.linspace(0.0, steps[-1], 15)
    line = np.interp(even, steps, curve.real) + 1j * np.interp(even, steps, curve.imag)
    wanted = float(np.clip(0.85 * steps[-1], SHORTEST * size, LONGEST * size))
    middle = line[len(line) // 2]
    return np.asarray(middle + (line - middle) * wanted / max(float(steps[-1]), 1e-6))


def _capsules(bones: Skeleton) -> tuple[Outline, Outline, NDArray[np.float64]]:
    """(starts, ends, radii) of the body as thick lines."""
    s = bones.scale
    lines = [(bones.hips, bones.shoulders, 12.0), (bones.shoulders, bones["crown"], 13.0)]
    for side in SIDES:
        for first, last, radius in (
            ("hip", "knee", 8.0),
            ("knee", "ankle", 6.0),
            ("heel", "toe", 5.0),
            ("shoulder", "elbow", 5.0),
            ("elbow", "wrist", 4.5),
            ("wrist", "fingers", 5.0),
        ):
            lines.append((bones[f"{first}_{side}"], bones[f"{last}_{side}"], radius))
    starts, ends, radii = zip(*lines, strict=True)
    return np.array(starts), np.array(ends), np.array(radii) * s


def _overlap(points: Outline, bones: Skeleton, room: float) -> NDArray[np.float64]:
    """How deep each point lies in the body or too close to it, cm; shape as ``points``."""
    starts, ends, radii = _capsules(bones)
    way = ends - starts
    length = np.maximum(np.abs(way) ** 2, 1e-9)
    to = points[..., None] - starts
    along = np.clip((to * way.conjugate()).real / length, 0.0, 1.0)
    distance = np.abs(to - along * way)
    return np.asarray(np.maximum(radii + room - distance, 0.0).max(axis=-1))


def _covered(prop: PlacedProp) -> list[tuple[float, float, float, float, float]]:
    """(left, right, bottom, top, weight) of what an arrow should not hide; chairs count less."""
    if prop.kind in ("chair", "chair_back"):
        seat = prop.at.imag - (CHAIR_BACK if prop.kind == "chair_back" else 0.0)
        ends = sorted((prop.at.real, prop.at.real + prop.facing * DEPTHS["chair"]))
        return [(ends[0], ends[1], 0.0, seat, 1.0)]
    return [(b.left, b.right, b.bottom, b.top, 2.0) for b in solids_of(prop)]


def room_wanted(bones: Sequence[Skeleton]) -> complex | None:
    """A point that should be in view, so that the arrow has room beyond the moving part."""
    round_arrow = _round_way(bones)
    if round_arrow is not None:
        return complex(round_arrow[np.argmax(round_arrow.imag)])
    way = path_of(bones)
    if way is None:
        return None
    moved = way[-1] - way[0]
    return complex(way[-1] + ROOM * moved / max(abs(moved), 1e-6))


def _free_place(way: Outline, bones: Sequence[Skeleton], area: Area, size: float) -> complex:
    """How far to move the arrow so that it hides as little as possible."""
    turns = np.exp(2j * np.pi * np.arange(24) / 24)
    shifts = np.concatenate([[0j], *(turns * d for d in (12, 18, 24, 30, 36, 44, 52, 62, 74))])
    points = way[None, ::2] + shifts[:, None]
    cost = 1.0 * _overlap(points, bones[-1], 6.5 * size).sum(axis=1)
    cost += 0.45 * _overlap(points, bones[0], 3.0 * size).sum(axis=1)
    for prop in bones[-1].props:
        for left, right, bottom, top, weight in _covered(prop):
            inside = (points.real > left - 4) & (points.real < right + 4)
            inside &= (points.imag > bottom - 4) & (points.imag < top + 4)
            cost += weight * inside.sum(axis=1)
    pad = 6.0 * size
    out = np.maximum(area.left + pad - points.real, 0) + np.maximum(
        points.real - area.right + pad, 0
    )
    out += np.maximum(area.bottom + pad - points.imag, 0) + np.maximum(
        points.imag - area.top + pad, 0
    )
    cost += 6.0 * out.sum(axis=1)
    corner = (points.real < area.left + area.badge) & (points.imag > area.top - area.badge)
    cost += 20.0 * corner.sum(axis=1)
    cost += 0.2 * np.abs(shifts)
    return complex(shifts[int(np.argmin(cost))])
