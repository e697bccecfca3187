"""Moving pictures: out and back, and no colour drifts."""

from io import BytesIO
from itertools import pairwise

import numpy as np
import pytest
from PIL import Image, ImageSequence

from bot.pictures.moving import COLOURS, PULSE_STEPS, STEPS, WIDTH, moving_gif
from core.figure.people import LOOKS
from tests.core.figure.scenes import scene


@pytest.fixture(scope="module")
def frames() -> list[np.ndarray]:
    image = Image.open(BytesIO(moving_gif(scene("squat_to_chair"))))
    return [np.asarray(frame.convert("RGB")) for frame in ImageSequence.Iterator(image)]


def test_it_goes_there_and_back(frames: list[np.ndarray]) -> None:
    assert len(frames) == 2 * STEPS - 2
    assert frames[0].shape[1] == WIDTH
    for out, back in zip(frames[1:STEPS], frames[:STEPS:-1], strict=False):
        assert np.array_equal(out, back)


def test_it_moves_in_every_step(frames: list[np.ndarray]) -> None:
    for before, after in pairwise(frames[:STEPS]):
        assert (before != after).any(axis=2).mean() > 0.002


def test_all_frames_share_one_palette(frames: list[np.ndarray]) -> None:
    colours = {colour for f in frames for _, colour in Image.fromarray(f).getcolors(1 << 20)}
    assert len(colours) <= COLOURS


def test_what_stands_still_keeps_its_colour(frames: list[np.ndarray]) -> None:
    stack = np.stack(frames)
    ground, floor = stack[:, 5, 5], stack[:, -5, 5]
    assert (ground == ground[0]).all()
    assert (floor == floor[0]).all()


def test_main_colours_are_kept_in_every_frame(frames: list[np.ndarray]) -> None:
    top = LOOKS["rosa"].top
    wanted = np.array([int(top[k : k + 2], 16) for k in (1, 3, 5)])
    for frame in frames:
        near = np.abs(frame.astype(int) - wanted).max(axis=2) <= 8
        assert near.mean() > 0.01


@pytest.mark.parametrize("pulses", [1.0, 3.0])
def test_pulses_go_to_and_fro_before_the_end_without_a_rest(pulses: float) -> None:
    one = scene("squat_pulse", (("pulses", pulses),))
    image = Image.open(BytesIO(moving_gif(one)))
    waits = [frame.info["duration"] for frame in ImageSequence.Iterator(image)]
    assert len(waits) == 2 * STEPS - 2 + 2 * PULSE_STEPS * pulses
    assert waits[0] > 3 * waits[1]
    assert max(waits[1:]) == min(waits[1:])


def test_it_loops_and_rests_at_both_ends() -> None:
    image = Image.open(BytesIO(moving_gif(scene("push_table"))))
    waits = [frame.info["duration"] for frame in ImageSequence.Iterator(image)]
    assert image.info["loop"] == 0
    assert waits[0] > 3 * waits[1]
    assert waits[STEPS - 1] > 3 * waits[1]
