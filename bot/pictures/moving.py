"""The moving picture of a rung: out, a moment there (or pulses), and back, over and over."""

from io import BytesIO

import numpy as np
from PIL import Image

from bot.pictures.canvas import Canvas
from bot.pictures.strips import window_for
from core.figure.composition import drawn
from core.figure.scene import Scene
from core.figure.stage import skeletons_of

WIDTH = 480
STEPS = 9  # moments from start to end
COLOURS = 128
STEP_MS = 90
PULSE_STEPS = 2  # moments that a pulse goes back
REST_MS = 650


def moving_gif(scene: Scene) -> bytes:
    """A GIF file that loops; every frame uses the same palette, so that no colour drifts."""
    figures = [drawn(bones, scene.look) for bones in skeletons_of(scene, STEPS)[0]]
    window = window_for(figures, width=WIDTH)
    frames = []
    for figure in figures:
        canvas = Canvas(window)
        canvas.add(figure.room)
        canvas.add(figure.person)
        frames.append(canvas.finished())
    palette = common_palette(frames)
    indexed = [f.quantize(palette=palette, dither=Image.Dither.NONE) for f in frames]
    order = _order(scene)
    rests = (0,) if order.count(STEPS - 1) > 1 else (0, STEPS - 1)
    waits = [REST_MS if k in rests else STEP_MS for k in order]
    buffer = BytesIO()
    indexed[0].save(
        buffer,
        "GIF",
        save_all=True,
        append_images=[indexed[k] for k in order[1:]],
        duration=waits,
        loop=0,
        disposal=1,
        optimize=False,
    )
    return buffer.getvalue()


def _order(scene: Scene) -> list[int]:
    """Moments in the order in which they are shown; pulses go to and fro before the end."""
    pulses = scene.dial("pulses") or scene.rung.dials.get("pulses", (0,))[0]
    last = STEPS - 1
    to_and_fro = [
        *range(last - 1, last - PULSE_STEPS - 1, -1),
        *range(last - PULSE_STEPS + 1, STEPS),
    ]
    return [*range(STEPS), *to_and_fro * round(float(pulses)), *range(last - 1, 0, -1)]


def common_palette(frames: list[Image.Image]) -> Image.Image:
    """One palette for all frames, from the first, the middle and the last of them."""
    chosen = [frames[0], frames[len(frames) // 2], frames[-1]]
    joined = Image.fromarray(np.concatenate([np.asarray(f)[::2, ::2] for f in chosen]))
    return joined.quantize(COLOURS, method=Image.Quantize.MEDIANCUT)
