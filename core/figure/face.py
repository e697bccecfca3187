"""A face that looks at the viewer, or partly away from her: the head turns about its own axis.

Features lie on a round skull. A turn moves each of them round it: what faces the viewer slides
sideways, the ear on one side goes out of sight and the other comes into view.
"""

from functools import partial

import numpy as np

from core.figure.head import (
    INK,
    HeadFrame,
    blush_of,
    eye_white,
    lips_of,
    shade_of,
)
from core.figure.people import Hair, Look
from core.figure.shapes import Outline, Shape, disc, mixed, open_curve, oval, smooth, stroke

SKULL = 8.6  # radius on which the features lie, cm
FARTHEST = 0.97  # share of the skull's radius beyond which nothing of the face is seen
SEEN_FROM = 0.12  # radians of turn from which only one ear is seen

_SKULL = (
    11.2j, 4.6 + 10.2j, 7.3 + 6.6j, 7.9 + 2.0j, 7.5 - 2.6j, 6.4 - 6.6j, 3.8 - 9.8j, -10.9j,
    -3.8 - 9.8j, -6.4 - 6.6j, -7.5 - 2.6j, -7.9 + 2.0j, -7.3 + 6.6j, -4.6 + 10.2j,
)  # fmt: skip

_CAP_OUTSIDE = (
    -8.4 - 0.8j, -9.0 + 2.6j, -8.6 + 7.6j, -5.4 + 11.4j, 12.4j, 5.4 + 11.4j, 8.6 + 7.6j,
    9.0 + 2.6j, 8.4 - 0.8j,
)  # fmt: skip

_HAIRLINE = (
    7.5 + 0.6j, 7.2 + 4.0j, 4.0 + 6.6j, -1.5 + 7.4j, -5.6 + 5.6j, -7.2 + 3.4j, -7.5 + 0.6j,
)  # fmt: skip


def turned_by(outline: Outline, turn: float) -> Outline:
    """An outline on the front of the skull after the head turned by ``turn`` radians to +x."""
    if not turn:
        return outline
    points = np.asarray(outline)
    around = np.arcsin(np.clip(points.real / SKULL, -1.0, 1.0)) + turn
    x = SKULL * np.clip(np.sin(np.clip(around, -np.pi / 2, np.pi / 2)), -FARTHEST, FARTHEST)
    return np.asarray(x + 1j * points.imag)


def _cap(turn: float) -> Outline:
    """Hair over the brow: its outside stays, the hairline goes with the face."""
    line = turned_by(np.array(_HAIRLINE), turn)
    return smooth(np.concatenate([np.array(_CAP_OUTSIDE), line]))


def _both(half: tuple[complex, ...]) -> tuple[complex, ...]:
    """A closed outline from its right half, top first."""
    left = tuple(-complex(p).conjugate() for p in half[-2:0:-1])
    return tuple(complex(p) for p in half) + left


def _hair(look: Look, turn: float) -> tuple[list[Outline], list[Outline]]:
    """(outlines behind the face, outlines over it)."""
    if look.hair is Hair.BUN:
        return [disc(13.2j - 7.0 * np.sin(turn), 4.0)], [_cap(turn)]
    back: tuple[complex, ...]
    if look.hair is Hair.BOB:
        back = (13j, 7.6 + 11j, 10.6 + 4j, 10.8 - 4j, 9.0 - 9.4j, 0 - 8j)
        return [smooth(_both(back))], [_cap(turn)]
    if look.hair is Hair.WAVES:
        back = (13.2j, 8 + 11j, 11 + 4.5j, 10.2 - 2j, 11.6 - 7j, 10 - 12j, 5 - 13.4j, -9j)
        return [smooth(_both(back))], [_cap(turn)]
    if look.hair is Hair.SIDES:
        right = np.array((7.2 + 5.4j, 8.8 + 5.0j, 9.2 + 1.0j, 8.4 - 2.4j, 7.2 - 1.0j))
        return [], [smooth(right), smooth(-right.conjugate())]
    if look.hair is Hair.CURLS:
        arc = [9.2 * np.exp(1j * a) + 2.4j for a in np.linspace(-0.12, np.pi + 0.12, 11)]
        return [], [
            *(disc(complex(p), 3.0) for p in arc),
            *(disc(x + 9.6j, 2.8) for x in (-4.2, 0.0, 4.2)),
        ]
    return [], [_cap(turn)]


def _side_hair(look: Look, turn: float) -> list[Outline]:
    """Hair beside the ear that a turn brings into view."""
    edge = -SKULL * np.cos(turn)
    lowest = {Hair.BOB: -8.4, Hair.WAVES: -9.0, Hair.CURLS: -1.0, Hair.SIDES: -3.6}
    down = lowest.get(look.hair, -3.2)
    top = 4.6 if look.hair is Hair.SIDES else 8.4
    patch = np.array(
        [-8.2 + top * 1j, edge + 0.6 + top * 0.9j, edge + 1.8 + 1.6j, edge - 0.2 - 0.4j,
         edge - 0.6 + down * 1j, -7.6 + down * 1j, -9.0 + 1.0j]
    )  # fmt: skip
    return [smooth(patch)]


def from_front(look: Look, place: HeadFrame, turn: float = 0.0) -> list[Shape]:
    """A head in drawing order; it looks at the viewer, or by ``turn`` radians to a side.

    To +x where the turn is above zero.
    """
    if turn < 0.0:
        mirrored = HeadFrame(place.middle, -place.face, place.up, place.scale)
        return from_front(look, mirrored, -turn)
    skin, shade = look.skin, shade_of(look.skin)
    round_it = partial(turned_by, turn=turn)
    behind, over = _hair(look, turn)
    aside = turn > SEEN_FROM
    shapes: list[Shape] = []

    def add(part: str, fill: str, *outlines: Outline) -> None:
        shapes.append(Shape(part, tuple(place(o) for o in outlines), fill))

    if behind:
        add("hair", mixed(look.hair_colour, INK, 0.14), *behind)
    if not aside:
        add("ear", shade, oval(8.0 - 0.6j, 1.5, 2.3), oval(-8.0 - 0.6j, 1.5, 2.3))
    add("head", skin, smooth(_SKULL))
    add("cheek", blush_of(skin), *(round_it(oval(x - 3.2j, 1.9, 1.5)) for x in (4.6, -4.6)))
    if look.beard:
        beard = (-5.4j - 0.2, 3.4 - 5.2j, 6.8 - 2.6j, 6.9 - 6.2j, 4.4 - 10.4j, -12.0j)
        add("beard", look.beard, round_it(smooth(_both(beard))))
        moustache = _both((-3.3j, 2.6 - 3.7j, 4.0 - 5.2j, -4.8j))
        add("beard", look.beard, round_it(smooth(moustache)))
    if aside:
        add("hair", look.hair_colour, *_side_hair(look, turn))
    add("hair", look.hair_colour, *over)
    if aside:
        add("ear", shade, oval(-SKULL * np.cos(turn) + 0.8 - 0.6j, 1.6, 2.4, 1.0))
    for side in (1, -1):
        _eye(shapes, place, look, side, turn)
    if look.glasses:
        bridge = stroke(open_curve((-0.7 + 1.2j, 1.6j, 0.7 + 1.2j)), 0.55)
        add("glasses", INK, round_it(bridge))
        if aside:
            temple = (round_it(np.array([-5.6 + 1.2j]))[0], -SKULL * np.cos(turn) + 0.8 + 0.8j)
            add("glasses", INK, stroke(np.array(temple), 0.55))
    line = mixed(skin, shade, 0.9)
    nose = (0.5 + 0.6j, 1.1 - 1.6j, 0.2 - 2.4j, -0.9 - 2.1j)
    ahead = 1.6 * np.sin(turn)  # the tip stands out from the skull
    add("nose", line, round_it(stroke(open_curve(nose), 0.55)) + ahead)
    smile = (-3.0 - 5.2j, -1.4 - 6.5j, 1.4 - 6.5j, 3.0 - 5.2j)
    add("mouth", lips_of(skin), round_it(stroke(open_curve(smile), 0.75)))
    return shapes


def _eye(shapes: list[Shape], place: HeadFrame, look: Look, side: int, turn: float) -> None:
    """One eye with its brow and its glass."""

    def add(part: str, fill: str, outline: Outline) -> None:
        shapes.append(Shape(part, (place(turned_by(outline, turn)),), fill))

    glance = 0.5 * np.sin(turn)
    add("eye", eye_white(look.skin), oval(side * 3.2 + 1.0j, 1.35, 1.55, 1j))
    add("eye", INK, oval(side * 3.2 + glance + 1.0j, 1.12, 0.95, 1j))
    add("eye", "#ffffff", disc(side * 3.2 + glance + 0.35 + 1.4j, 0.3))
    arch = (side * 1.6 + 3.7j, side * 3.4 + 4.3j, side * 5.2 + 3.5j)
    add("brow", mixed(look.hair_colour, INK, 0.35), stroke(open_curve(arch), 0.8, 0.6))
    if look.glasses:
        around = np.exp(2j * np.pi * np.arange(21) / 20)
        rim = side * 3.2 + 0.9j + 2.6 * around.real + 2.4j * around.imag
        add("glasses", INK, stroke(rim, 0.55))
