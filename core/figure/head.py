"""Heads: a friendly face in profile and from in front, with hair, glasses and beard.

Drawn around the middle of the head of a person of 165 cm, face to +x (profile) or to the viewer.
"""

from dataclasses import dataclass

import numpy as np

from core.figure.people import Hair, Look
from core.figure.shapes import Outline, Shape, disc, mixed, open_curve, oval, smooth, stroke

CROWN_ABOVE = 11.6  # crown above the middle of the head, cm
HEAD_SIZE = 1.12  # a little larger than life, so that the face reads on a phone
INK = "#2e2a2b"
BREATH = "#86a9c4"
_BLOWN_ALONG = ((13.0, 0.0), (16.5, 0.6), (20.0, -0.5), (23.5, 0.3))
_BLOWN = tuple(
    tuple(x + 1j * (y - 5.6 + 0.055 * y * (x - 13.0) + wave) for x, wave in _BLOWN_ALONG)
    for y in (1.7, 0.0, -1.7)
)  # three lines of breath before the lips
DARK_SKIN = 110.0  # brightness below which a dark mouth would not show

_FACE = (
    1.0 + 11.2j, 4.6 + 10.4j, 7.4 + 7.4j, 8.5 + 4.2j, 8.35 + 2.2j, 8.7 + 0.9j, 10.0 - 1.3j,
    10.35 - 2.3j, 9.6 - 3.1j, 8.75 - 3.5j, 9.0 - 4.7j, 8.6 - 5.5j, 8.75 - 6.5j, 8.1 - 7.5j,
    8.2 - 9.2j, 7.0 - 10.6j, 4.6 - 10.7j, 1.2 - 9.2j, -1.6 - 6.6j, -4.6 - 5.6j, -7.6 - 3.4j,
    -9.2 + 0.6j, -8.8 + 5.0j, -6.4 + 9.0j, -2.8 + 11.0j,
)  # fmt: skip

_CAP = (
    7.3 + 7.9j, 5.2 + 10.7j, 1.4 + 12.3j, -3.4 + 12.2j, -7.6 + 10.0j, -10.0 + 5.6j, -10.2 + 0.8j,
    -8.8 - 3.6j, -6.2 - 5.8j, -4.6 - 4.6j, -3.6 - 1.6j, -2.6 + 1.8j, 0.2 + 2.8j, 1.4 + 5.2j,
    3.8 + 6.2j,
)  # fmt: skip

_BOB = (
    7.6 + 7.4j, 6.4 + 10.6j, 2.0 + 12.9j, -3.6 + 12.9j, -8.4 + 10.4j, -11.0 + 5.4j, -11.6 - 0.6j,
    -11.0 - 6.4j, -8.6 - 9.4j, -4.4 - 9.6j, -0.8 - 8.2j, 0.6 - 4.4j, 0.9 - 0.2j, 1.8 + 3.6j,
    4.6 + 6.0j,
)  # fmt: skip

_WAVES = (
    7.8 + 7.0j, 6.8 + 10.4j, 2.8 + 13.1j, -2.0 + 13.0j, -6.8 + 11.8j, -10.2 + 8.2j, -11.0 + 4.4j,
    -12.0 + 1.0j, -11.2 - 2.8j, -12.0 - 6.4j, -10.4 - 9.6j, -11.0 - 12.6j, -7.6 - 14.0j,
    -4.6 - 12.4j, -2.4 - 12.6j, -1.0 - 9.2j, 0.6 - 5.6j, 0.4 - 1.6j, 1.8 + 2.0j, 3.4 + 5.2j,
)  # fmt: skip

_SIDES = (
    -1.2 + 4.4j, -3.4 + 6.4j, -7.0 + 7.4j, -9.6 + 4.6j, -10.2 + 0.6j, -9.0 - 3.6j, -6.4 - 5.8j,
    -4.6 - 4.6j, -3.4 - 1.4j, -1.2 + 0.6j,
)  # fmt: skip

_CROP = (
    7.4 + 8.2j, 5.6 + 11.0j, 1.6 + 12.5j, -3.4 + 12.4j, -7.6 + 10.2j, -9.9 + 5.8j, -10.0 + 1.0j,
    -8.7 - 3.2j, -6.4 - 5.0j, -4.8 - 4.4j, -3.6 - 1.2j, -2.4 + 2.2j, 0.6 + 2.0j, 0.9 + 5.0j,
    2.8 + 7.4j,
)  # fmt: skip

_BEARD = (
    8.9 - 6.7j, 8.6 - 7.6j, 9.0 - 9.4j, 7.4 - 11.8j, 4.6 - 11.9j, 1.0 - 10.2j, -1.8 - 7.0j,
    -2.2 - 3.2j, -0.6 - 2.6j, 1.0 - 5.6j, 4.0 - 7.0j, 6.6 - 7.4j,
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class HeadFrame:
    """Where a head is: its middle, the direction of its crown, its scale and mirror image.

    ``face`` is the direction of the face in profile, and of the drawn right from in front.
    """

    middle: complex
    face: complex
    up: complex
    scale: float

    def __call__(self, outline: Outline) -> Outline:
        """Places an outline drawn around the middle of the head."""
        local = np.asarray(outline)
        return np.asarray(
            self.middle + self.scale * (local.real * self.face + local.imag * self.up)
        )


def shade_of(skin: str) -> str:
    """The skin in shade: neck, ear, far hand."""
    return mixed(skin, "#5b2a1c", 0.22)


def blush_of(skin: str) -> str:
    """A warm cheek."""
    return mixed(skin, "#d65a4c", 0.22)


def lips_of(skin: str) -> str:
    """A mouth that shows on the skin: dark on pale skin, rosy on dark."""
    return "#d98077" if brightness(skin) < DARK_SKIN else mixed("#8c2f33", INK, 0.15)


def brightness(colour: str) -> float:
    """Perceived brightness of "#rrggbb", 0 to 255 (ITU-R BT.601 weights)."""
    red, green, blue = (int(colour[k : k + 2], 16) for k in (1, 3, 5))
    return 0.299 * red + 0.587 * green + 0.114 * blue


def eye_white(skin: str) -> str:
    """The white of an eye, tinted by the skin so that it does not stare."""
    return mixed("#ffffff", skin, 0.30)


def _hair(look: Look) -> tuple[list[Outline], list[Outline]]:
    """(outlines behind the face, outlines over it) of the hair in profile."""
    if look.hair is Hair.BUN:
        return [disc(-10.8 + 6.2j, 4.0)], [smooth(_CAP)]
    if look.hair is Hair.BOB:
        return [], [smooth(_BOB)]
    if look.hair is Hair.WAVES:
        return [], [smooth(_WAVES)]
    if look.hair is Hair.SIDES:
        return [], [smooth(_SIDES)]
    if look.hair is Hair.CURLS:
        spots = (
            6.4 + 8.8j, 3.4 + 11.0j, -0.6 + 12.0j, -4.6 + 11.2j, -7.8 + 8.6j, -9.6 + 5.0j,
            -10.0 + 1.0j, -9.0 - 2.8j, -6.6 - 4.8j, -5.2 - 1.2j, -4.0 + 2.6j, 1.0 + 6.8j,
            4.2 + 7.6j, -2.0 + 6.0j,
        )  # fmt: skip
        return [], [disc(-3.6 + 5.4j, 6.6), *(disc(spot, 3.0) for spot in spots)]
    return [], [smooth(_CROP)]


def profile(look: Look, place: HeadFrame, *, blows: bool = False) -> list[Shape]:
    """A head seen from its right side, in drawing order; it ``blows`` out through pursed lips."""
    skin, shade = look.skin, shade_of(look.skin)
    behind, over = _hair(look)
    shapes: list[Shape] = []

    def add(part: str, fill: str, *outlines: Outline) -> None:
        shapes.append(Shape(part, tuple(place(o) for o in outlines), fill))

    if behind:
        add("hair", mixed(look.hair_colour, INK, 0.14), *behind)
    add("head", skin, smooth(_FACE))
    add("cheek", blush_of(skin), oval(4.7 - 3.1j, 2.1, 1.7))
    if look.beard:
        add("beard", look.beard, smooth(_BEARD))
    add("hair", look.hair_colour, *over)
    add("ear", shade, oval(-1.5 - 0.9j, 2.7, 1.75, np.exp(1.75j)))
    add("ear", mixed(skin, shade, 0.35), oval(-1.3 - 0.7j, 1.6, 0.85, np.exp(1.75j)))
    if look.earring:
        add("earring", look.earring, disc(-1.3 - 4.1j, 0.75))
    add("eye", eye_white(skin), oval(5.55 + 1.1j, 1.4, 1.35, 1j))
    add("eye", INK, oval(5.6 + 1.1j, 1.12, 0.92, 1j))
    add("eye", "#ffffff", disc(5.85 + 1.5j, 0.3))
    brow = mixed(look.hair_colour, INK, 0.35)
    add("brow", brow, stroke(open_curve((3.9 + 3.6j, 5.4 + 4.5j, 7.4 + 3.9j)), 0.85, 0.6))
    if look.beard:
        moustache = (9.5 - 3.5j, 9.2 - 4.5j, 7.6 - 4.7j, 5.6 - 4.3j, 4.6 - 3.5j, 7.2 - 3.4j)
        add("beard", mixed(look.beard, "#ffffff", 0.2), smooth(moustache))
    line = mixed(shade, INK, 0.45)
    if blows:
        add("mouth", lips_of(skin), oval(8.9 - 5.4j, 1.15, 1.0))
        add("breath", BREATH, *(stroke(open_curve(way, 5), 1.1, 0.7) for way in _BLOWN))
        return shapes + _glasses(look, place, line)
    # A moustache hides the upper lip: the smile is drawn a little lower and wider.
    lower = -0.35j if look.beard else 0j
    smile = (8.6 - 5.3j + lower, 7.3 - 5.9j + lower, 5.8 - 5.5j + lower, 4.6 - 4.5j + lower)
    add("mouth", lips_of(skin), stroke(open_curve(smile), 0.78, 0.6))
    add("wrinkle", mixed(skin, shade, 0.8), stroke(open_curve((3.3 + 1.9j, 2.5 + 2.3j)), 0.4))
    add("wrinkle", mixed(skin, shade, 0.8), stroke(open_curve((3.3 + 0.7j, 2.5 + 0.3j)), 0.4))
    return shapes + _glasses(look, place, line)


def _glasses(look: Look, place: HeadFrame, line: str) -> list[Shape]:
    if not look.glasses:
        return []
    rim = mixed(line, INK, 0.6)
    around = np.exp(2j * np.pi * np.arange(21) / 20)
    lens = stroke(5.9 + 0.9j + 2.3 * around.real + 2.5j * around.imag, 0.6)
    temple = stroke(open_curve((3.6 + 1.5j, 1.2 + 1.5j, -0.9 + 1.1j)), 0.6)
    return [Shape("glasses", (place(outline),), rim) for outline in (lens, temple)]
