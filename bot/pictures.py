"""Pictures of rungs: the two-panel strip and the moving picture."""

from collections.abc import Sequence
from io import BytesIO

from PIL import Image

from bot.picture_canvas import Canvas, Window, badge
from core.figure import Figure
from core.figure_arrow import Area, arrow
from core.figure_rung import Scene, figures_of

PANEL = 640  # width of a panel, pixels
LOWEST_PANEL, HIGHEST_PANEL = 400, 660
GAP = 8
DIVIDER = "#d9ccb2"
MARGIN = 12.0  # air around the person, cm
BELOW = 13.0  # floor that is seen below its line, cm
GHOST = "#dcd8cd"
GHOST_ON_TOP = 0.55
STRIP_MOMENTS = 7


def strip_png(scene: Scene) -> bytes:
    """The start and the end of a rung side by side, as a PNG file."""
    figures, _ = figures_of(scene, STRIP_MOMENTS)
    return png(strip_image(figures))


def window_for(figures: Sequence[Figure], width: int = PANEL) -> Window:
    """The view that shows every figure and the furniture that it uses."""
    outlines = [
        outline
        for figure in figures
        for shape in (*figure.person, *figure.room)
        if shape.part not in ("wall", "mat")
        for outline in shape.outlines
    ]
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


def strip_image(figures: Sequence[Figure]) -> Image.Image:
    """Two panels: the start, and the end over a pale ghost of the start with the arrow."""
    start, end = figures[0], figures[-1]
    window = window_for((start, end))
    panels = []
    for number in (1, 2):
        canvas = Canvas(window)
        if number == 1:
            canvas.add(start.room)
            canvas.add(start.person)
        else:
            canvas.add(end.room)
            canvas.add(shape.painted(GHOST) for shape in start.person)
            canvas.add(end.person)
            canvas.add(arrow(figures, area_of(window)))
        image = canvas.finished()
        badge(image, number, (46, 46), 27)
        panels.append(image)
    strip = Image.new("RGB", (2 * window.width + GAP, window.height), DIVIDER)
    strip.paste(panels[0], (0, 0))
    strip.paste(panels[1], (window.width + GAP, 0))
    return strip


def png(image: Image.Image) -> bytes:
    """The image as a PNG file."""
    buffer = BytesIO()
    image.save(buffer, "PNG", compress_level=6)
    return buffer.getvalue()
