"""Puts shapes in centimetres onto pixels, smoothed by drawing three times as large."""

from collections.abc import Iterable
from dataclasses import dataclass

from PIL import Image, ImageDraw, ImageFont

from core.figure.shapes import Outline, Shape

GROUND = "#faf5ea"
FLOOR_FILL = "#e9dfcb"
FLOOR_LINE = "#c9b998"
INK = "#2b2a33"
FINER = 3


@dataclass(frozen=True, slots=True)
class Window:
    """The part of the room that a panel shows: cm at its left, cm below the floor, pixels a cm."""

    left: float
    below: float
    pixels_per_cm: float
    width: int
    height: int

    @property
    def across(self) -> float:
        """Width in cm."""
        return self.width / self.pixels_per_cm

    @property
    def top(self) -> float:
        """Highest visible point, cm."""
        return self.height / self.pixels_per_cm - self.below


class Canvas:
    """One panel being drawn."""

    def __init__(self, window: Window, ground: str = "") -> None:
        """An empty room: cream ground and a floor; or one plain ``ground``."""
        self.window = window
        size = (window.width * FINER, window.height * FINER)
        self._image = Image.new("RGB", size, ground or GROUND)
        self._draw = ImageDraw.Draw(self._image)
        if ground:
            return
        floor = self._pixel(0j)[1]
        self._draw.rectangle((0, floor, size[0], size[1]), fill=FLOOR_FILL)
        self._draw.rectangle((0, floor, size[0], floor + 1.0 * self._scale), fill=FLOOR_LINE)

    @property
    def _scale(self) -> float:
        return self.window.pixels_per_cm * FINER

    def _pixel(self, point: complex) -> tuple[float, float]:
        x = (point.real - self.window.left) * self._scale
        y = (self.window.top - point.imag) * self._scale
        return x, y

    def _pixels(self, outline: Outline) -> list[tuple[float, float]]:
        x = (outline.real - self.window.left) * self._scale
        y = (self.window.top - outline.imag) * self._scale
        return list(zip(x.tolist(), y.tolist(), strict=True))

    def add(self, shapes: Iterable[Shape]) -> None:
        """Draws shapes over what is there."""
        for shape in shapes:
            if shape.opacity < 1.0:
                self._add_sheer(shape)
            else:
                _fill(self._draw, [self._pixels(o) for o in shape.outlines], shape, self._scale)

    def _add_sheer(self, shape: Shape) -> None:
        """Draws a shape that lets what is below shine through; only its own area is touched."""
        drawn = [self._pixels(outline) for outline in shape.outlines]
        xs = [x for points in drawn for x, _ in points]
        ys = [y for points in drawn for _, y in points]
        left, top = int(min(xs)), int(min(ys))
        mask = Image.new("L", (int(max(xs)) - left + 2, int(max(ys)) - top + 2), 0)
        draw = ImageDraw.Draw(mask)
        for points in drawn:
            draw.polygon([(x - left, y - top) for x, y in points], fill=round(255 * shape.opacity))
        self._image.paste(shape.fill, (left, top), mask)

    def finished(self) -> Image.Image:
        """The panel at its final size."""
        return self._image.reduce(FINER)


def _fill(
    draw: ImageDraw.ImageDraw, outlines: list[list[tuple[float, float]]], shape: Shape, scale: float
) -> None:
    if shape.edge:
        width = max(1, round(2 * shape.edge_width * scale))
        for points in outlines:
            draw.line([*points, points[0]], fill=shape.edge, width=width, joint="curve")
    for points in outlines:
        draw.polygon(points, fill=shape.fill)


def badge(image: Image.Image, number: int, centre: tuple[int, int], radius: int) -> None:
    """Draws a numbered disc onto a finished panel."""
    side = (2 * radius + 2) * FINER
    mask = Image.new("L", (side, side), 0)
    draw = ImageDraw.Draw(mask)
    draw.ellipse((FINER, FINER, side - FINER, side - FINER), fill=255)
    mask = mask.resize((side // FINER, side // FINER), Image.Resampling.BOX)
    corner = (centre[0] - mask.width // 2, centre[1] - mask.height // 2)
    image.paste(INK, corner, mask)
    font = ImageFont.load_default(radius * 1.25)
    ImageDraw.Draw(image).text(
        centre, str(number), fill="#ffffff", font=font, anchor="mm", stroke_width=radius / 24
    )
