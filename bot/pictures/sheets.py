"""Many rungs in one picture: a contact sheet, and small figures along a scale of demand."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import log
from textwrap import wrap

import numpy as np
from PIL import Image, ImageDraw, ImageFont

from bot.pictures.canvas import GROUND, INK, Canvas, Window
from bot.pictures.strips import GAP, PANEL, png, strip_image
from core.figure.composition import Figure, drawn
from core.figure.scene import Scene
from core.figure.stage import skeletons_of

SOFT = "#8f8778"
ACCENT = "#c8451b"

STRIP_WIDTH = 440
COLUMNS = 5
CAPTION = 34
STRIP_MOMENTS = 5

SLOT, SLOT_HEIGHT = 196, 216  # pixels for one figure
SLOT_WIDE = SLOT - 10  # pixels that it fills
SLOT_AIR = 8.0  # cm beside a person
SLOT_TALL, SLOT_BELOW = 196.0, 9.0  # cm that a slot shows, and below the floor
MOST_FIGURES = 9
LABEL_LINES = 3


@dataclass(frozen=True, slots=True)
class Captioned:
    """A scene with the words under its picture."""

    scene: Scene
    caption: str


@dataclass(frozen=True, slots=True)
class ScaleStep:
    """One step of a ladder on the scale: ``hole`` says that the next step is far above."""

    scene: Scene
    label: str
    demand: float
    hole: bool = False


def _silent(_done: int, _total: int) -> None:
    """Progress that nobody watches."""


def contact_sheet(
    pictures: Sequence[Captioned], progress: Callable[[int, int], None] = _silent
) -> bytes:
    """Every strip, small, with its caption, as a PNG file.

    ``progress`` is called with (pictures done, pictures in all) after each.
    """
    tiles = []
    for done, one in enumerate(pictures, 1):
        bones, _ = skeletons_of(one.scene, STRIP_MOMENTS)
        strip = strip_image(bones, one.scene)
        share = STRIP_WIDTH / (2 * PANEL + GAP)
        size = (round(strip.width * share), round(strip.height * share))
        tiles.append(strip.resize(size, Image.Resampling.LANCZOS))
        progress(done, len(pictures))
    rows = [tiles[k : k + COLUMNS] for k in range(0, len(tiles), COLUMNS)]
    heights = [max(tile.height for tile in row) + CAPTION for row in rows]
    gap = 14
    whole = (COLUMNS * (STRIP_WIDTH + gap) + gap, sum(heights) + gap * (len(rows) + 1))
    sheet = Image.new("RGB", whole, "#ffffff")
    draw = ImageDraw.Draw(sheet)
    font = ImageFont.load_default(18)
    y, at = gap, 0
    for row, height in zip(rows, heights, strict=True):
        for column, tile in enumerate(row):
            x = gap + column * (STRIP_WIDTH + gap)
            draw.text((x + 2, y + 5), pictures[at].caption, fill=INK, font=font)
            sheet.paste(tile, (x, y + CAPTION - 6))
            at += 1
        y += height + gap
    return png(sheet)


def demand_scale_picture(steps: Sequence[ScaleStep], title: str, words: tuple[str, str]) -> bytes:
    """Small figures along a scale of demand, easy at the left, as a PNG file.

    ``words`` name the two ends. Every step has a mark on the scale; figures stand for as many
    steps as fit, spread evenly. Holes are hatched.

    Raises:
        ValueError: there are no steps.
    """
    if not steps:
        raise ValueError("a scale needs at least one step")
    ordered = sorted(steps, key=lambda step: step.demand)
    width = max(min(len(ordered), MOST_FIGURES), 4) * SLOT + 60
    places = _places(ordered, width)
    shown = _spread(ordered, places, MOST_FIGURES)
    axis = 74 + SLOT_HEIGHT + 26 * LABEL_LINES + 62
    image = Image.new("RGB", (width, axis + 66), GROUND)
    draw = ImageDraw.Draw(image)
    draw.text((30, 18), title, fill=INK, font=ImageFont.load_default(30), stroke_width=0.6)
    _draw_axis(draw, ordered, places, axis, words)
    left = (width - len(shown) * SLOT) // 2
    figures = [_end_of(ordered[k].scene) for k in shown]
    scale = min(_largest_scale(figure) for figure in figures)
    for slot, k in enumerate(shown):
        x = left + slot * SLOT
        _draw_figure(image, figures[slot], (x, 66), scale)
        _draw_label(draw, ordered[k].label, x, 66 + SLOT_HEIGHT)
        end = (places[k], axis - 14)
        start = (x + SLOT / 2, 74 + SLOT_HEIGHT + 24 * LABEL_LINES)
        draw.line((*start, *end), fill=SOFT, width=2)
        draw.ellipse((end[0] - 7, axis - 7, end[0] + 7, axis + 7), fill=ACCENT)
    return png(image)


def _spread(steps: Sequence[ScaleStep], places: Sequence[float], most: int) -> list[int]:
    """Indices of the steps that get a figure: evenly along the scale, new rungs rather than old."""
    if len(steps) <= most:
        return list(range(len(steps)))
    chosen: list[int] = []
    for k in range(most):
        target = places[0] + (places[-1] - places[0]) * k / (most - 1)
        rungs = {steps[c].scene.rung.id for c in chosen}
        chosen.append(
            min(
                (k for k in range(len(steps)) if k not in chosen),
                key=lambda k: (
                    abs(places[k] - target) + (SLOT / 2 if steps[k].scene.rung.id in rungs else 0)
                ),
            )
        )
    return sorted(chosen)


def _places(steps: Sequence[ScaleStep], width: int) -> list[float]:
    """x of every step; demand is spread by ratio, so that equal steps look equal."""
    low, high = steps[0].demand, steps[-1].demand
    if high <= low * 1.0001:
        return [width / 2.0] * len(steps)
    from_left = [log(step.demand / low) / log(high / low) for step in steps]
    return [70.0 + share * (width - 140.0) for share in from_left]


def _draw_axis(
    draw: ImageDraw.ImageDraw,
    steps: Sequence[ScaleStep],
    places: Sequence[float],
    axis: int,
    words: tuple[str, str],
) -> None:
    draw.line((40, axis, places[-1] + 34, axis), fill=INK, width=4)
    tip = places[-1] + 48
    draw.polygon([(tip, axis), (tip - 18, axis - 10), (tip - 18, axis + 10)], fill=INK)
    for step, here, beyond in zip(steps, places, [*places[1:], places[-1]], strict=True):
        draw.line((here, axis - 9, here, axis + 9), fill=INK, width=3)
        if step.hole:
            draw.rectangle((here + 5, axis - 5, beyond - 5, axis + 5), fill=GROUND)
            for x in range(int(here) + 8, int(beyond) - 8, 9):
                draw.line((x, axis + 5, x + 5, axis - 5), fill=ACCENT, width=2)
    font = ImageFont.load_default(22)
    draw.text((40, axis + 20), words[0], fill=INK, font=font)
    draw.text((places[-1] + 40, axis + 20), words[1], fill=INK, font=font, anchor="ra")


def _end_of(scene: Scene) -> Figure:
    """The end pose."""
    return drawn(skeletons_of(scene, 2)[0][-1], scene.look)


def _across(figure: Figure) -> tuple[float, float]:
    """Left and right end of a person, cm."""
    spread = [o.real for shape in figure.person for o in shape.outlines]
    return float(min(map(np.min, spread))), float(max(map(np.max, spread)))


def _largest_scale(figure: Figure) -> float:
    """Pixels a cm at which a person fits into a slot."""
    left, right = _across(figure)
    return float(min(SLOT_HEIGHT / SLOT_TALL, SLOT_WIDE / (right - left + SLOT_AIR)))


def _draw_figure(image: Image.Image, figure: Figure, at: tuple[int, int], scale: float) -> None:
    """A figure in a slot, feet at its bottom; every figure of a scale has the same size."""
    left, right = _across(figure)
    start = (left + right) / 2 - SLOT_WIDE / scale / 2
    canvas = Canvas(Window(start, SLOT_BELOW, scale, SLOT_WIDE, SLOT_HEIGHT))
    canvas.add(figure.room)
    canvas.add(figure.person)
    image.paste(canvas.finished(), (at[0] + 5, at[1]))


def _draw_label(draw: ImageDraw.ImageDraw, label: str, x: int, y: int) -> None:
    font = ImageFont.load_default(18)
    for k, line in enumerate(wrap(label, 20)[:LABEL_LINES]):
        draw.text((x + SLOT / 2, y + 8 + 22 * k), line, fill=INK, font=font, anchor="ma")
