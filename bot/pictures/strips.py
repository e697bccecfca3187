"""Pictures of rungs: the two-panel strip and the moving picture."""

from collections.abc import Sequence
from io import BytesIO

import numpy as np
from PIL import Image

from bot.pictures.canvas import FLOOR_FILL, Canvas, Window, badge
from core.figure.arrow import Area, arrow, path_of, room_wanted
from core.figure.composition import Figure, drawn
from core.figure.contact import touching
from core.figure.feet import soles_from_above, stands
from core.figure.ghost import clock, ghost_below, with_ghost_on_top
from core.figure.scene import Scene
from core.figure.skeleton import Skeleton
from core.figure.stage import skeletons_of

PANEL = 640  # width of a panel, pixels
LOWEST_PANEL, HIGHEST_PANEL = 400, 660
GAP = 8
DIVIDER = "#d9ccb2"
MARGIN = 12.0  # air around the person, cm
BELOW = 13.0  # floor that is seen below its line, cm
STRIP_MOMENTS = 7
FEET_TALL = 92.0  # cm that a picture of the feet from above shows from top to bottom


def strip_png(scene: Scene) -> bytes:
    """The start and the end of a rung side by side, as a PNG file."""
    bones, _ = skeletons_of(scene, STRIP_MOMENTS)
    return png(strip_image(bones, scene))


def pair_png(above: Scene, below: Scene) -> bytes:
    """Two strips one above the other, as a PNG file."""
    strips = []
    for scene in (above, below):
        bones, _ = skeletons_of(scene, STRIP_MOMENTS)
        strips.append(strip_image(bones, scene))
    width = max(strip.width for strip in strips)
    height = sum(strip.height for strip in strips) + GAP
    both = Image.new("RGB", (width, height), DIVIDER)
    at = 0
    for strip in strips:
        both.paste(strip, ((width - strip.width) // 2, at))
        at += strip.height + GAP
    return png(both)


def window_for(
    figures: Sequence[Figure], also: complex | None = None, width: int = PANEL
) -> Window:
    """The view that shows every figure, the furniture that it uses, and one more point."""
    outlines = [
        outline
        for figure in figures
        for shape in (*figure.person, *figure.room)
        if shape.part not in ("wall", "mat", "run")
        for outline in shape.outlines
    ]
    if also is not None:
        outlines.append(np.array([also + MARGIN, also - MARGIN - 1j * MARGIN]))
    left = min(float(o.real.min()) for o in outlines) - MARGIN
    right = max(float(o.real.max()) for o in outlines) + MARGIN
    top = max(float(o.imag.max()) for o in outlines) + MARGIN
    wall = figures[0].bones.prop("wall")
    if wall is not None:
        left = min(left, wall.at.real - 16.0)
        right = max(right, wall.at.real + 16.0)
    across, up = right - left, top + BELOW
    height = round(min(max(width * up / across, LOWEST_PANEL), HIGHEST_PANEL) * width / PANEL)
    scale = min(width / across, height / up)
    middle = (left + right) / 2
    return Window(middle - width / scale / 2, BELOW, scale, width, height)


def area_of(window: Window) -> Area:
    """The visible room for the arrow."""
    return Area(
        window.left,
        window.left + window.across,
        0.0,
        window.top,
        badge=80.0 / window.pixels_per_cm * window.width / PANEL,
    )


def strip_image(bones: Sequence[Skeleton], scene: Scene) -> Image.Image:
    """Two panels: the start, and the end over a pale ghost of the start with the arrow."""
    start, end = drawn(bones[0], scene.look), drawn(bones[-1], scene.look)
    moments = (start.bones, *(touching(one)[0] for one in bones[1:-1]), end.bones)
    if path_of(moments) is None:
        return _still_image(start, scene)
    window = window_for((start, end), room_wanted(moments))
    area = area_of(window)
    first, second = Canvas(window), Canvas(window)
    first.add((*start.room, *start.person))
    second.add((*end.room, *ghost_below(start, end), *with_ghost_on_top(start, end)))
    second.add(arrow(moments, area))
    if scene.holds:
        second.add(clock(area))
    return _side_by_side(first, second, numbered=True)


def _still_image(figure: Figure, scene: Scene) -> Image.Image:
    """A position without movement: one panel, beside it the feet where they are what matters."""
    window = window_for((figure,))
    first = Canvas(window)
    first.add((*figure.room, *figure.person))
    if not stands(figure.bones, scene):
        first.add(clock(area_of(window)))
        return first.finished()
    scale = window.height / FEET_TALL
    below = Window(-window.width / scale / 2, FEET_TALL / 2, scale, window.width, window.height)
    second = Canvas(below, ground=FLOOR_FILL)
    second.add(soles_from_above(figure.bones, scene))
    second.add(clock(area_of(below)))
    return _side_by_side(first, second, numbered=False)


def _side_by_side(first: Canvas, second: Canvas, *, numbered: bool) -> Image.Image:
    width, height = first.window.width, first.window.height
    strip = Image.new("RGB", (2 * width + GAP, height), DIVIDER)
    for number, canvas in enumerate((first, second)):
        image = canvas.finished()
        if numbered:
            badge(image, number + 1, (46, 46), 27)
        strip.paste(image, (number * (width + GAP), 0))
    return strip


def png(image: Image.Image) -> bytes:
    """The image as a PNG file."""
    buffer = BytesIO()
    image.save(buffer, "PNG", compress_level=4)
    return buffer.getvalue()
