"""Strips: two panels, an arrow, a ghost, readable on a small phone."""

from io import BytesIO

import numpy as np
import pytest
from PIL import Image

from bot.pictures.canvas import GROUND
from bot.pictures.strips import GAP, PANEL, strip_png, window_for
from core.figure.arrow import ARROW
from core.figure.ghost import GHOST
from core.figure.people import LOOKS
from tests.core.figure.scenes import BODIES, CATALOGUE, scene, start_and_end


def _pixels(content: bytes) -> np.ndarray:
    return np.asarray(Image.open(BytesIO(content)).convert("RGB")).astype(int)


def _share_of(pixels: np.ndarray, colour: str) -> float:
    wanted = np.array([int(colour[k : k + 2], 16) for k in (1, 3, 5)])
    return float((np.abs(pixels - wanted).max(axis=2) <= 6).mean())


def test_a_strip_has_two_panels_of_phone_width() -> None:
    pixels = _pixels(strip_png(scene("squat_to_chair")))
    assert pixels.shape[1] == 2 * PANEL + GAP
    assert 400 <= pixels.shape[0] <= 660


def test_the_arrow_and_the_ghost_are_only_in_the_second_panel() -> None:
    pixels = _pixels(strip_png(scene("squat_free")))
    first, second = pixels[:, :PANEL], pixels[:, PANEL + GAP :]
    for colour in (ARROW, GHOST):
        assert _share_of(first, colour) < 0.0005
        assert _share_of(second, colour) > 0.004


def test_the_badges_are_where_panels_begin() -> None:
    pixels = _pixels(strip_png(scene("push_table")))
    for x in (46, PANEL + GAP + 46):
        around = pixels[26:66, x - 20 : x + 20]
        assert (around.max(axis=2) < 90).mean() > 0.5  # the dark disc
        assert (around.min(axis=2) > 200).mean() > 0.05  # the pale number


def test_the_two_numbers_differ() -> None:
    pixels = _pixels(strip_png(scene("push_table")))
    first = pixels[30:62, 30:62]
    second = pixels[30:62, PANEL + GAP + 30 : PANEL + GAP + 62]
    assert np.abs(first - second).max() > 100


@pytest.mark.parametrize("rung", [rung.id for rung in CATALOGUE][::7])
def test_a_strip_is_still_readable_at_320_pixels(rung: str) -> None:
    image = Image.open(BytesIO(strip_png(scene(rung))))
    share = 320 / (2 * PANEL + GAP)
    small = np.asarray(image.resize((round(image.width * share), round(image.height * share))))
    last = small[:, -158:].astype(int)
    ground = np.array([int(GROUND[k : k + 2], 16) for k in (1, 3, 5)])
    apart = np.abs(last - ground).max(axis=2) > 60
    rows, columns = np.flatnonzero(apart.sum(axis=1) > 2), np.flatnonzero(apart.sum(axis=0) > 2)
    # Person and prop fill most of a panel, at least in one direction.
    assert max(rows.max() - rows.min(), columns.max() - columns.min()) > 90


@pytest.mark.parametrize("body", BODIES)
def test_every_body_fits_into_its_window(body) -> None:
    figures = start_and_end(scene("push_wall", body=body))
    window = window_for(figures)
    for figure in figures:
        for shape in figure.person:
            for outline in shape.outlines:
                assert window.left < outline.real.min()
                assert outline.real.max() < window.left + window.across
                assert outline.imag.max() < window.top


def test_heights_of_furniture_can_be_told_from_the_picture() -> None:
    low = strip_png(scene("squat_to_chair"))
    high = strip_png(scene("squat_to_chair", (("cushion", 12.0),)))
    assert low != high


def test_the_same_scene_gives_the_same_file() -> None:
    assert strip_png(scene("bridge_full")) == strip_png(scene("bridge_full"))


@pytest.mark.parametrize("look", LOOKS)
def test_everyone_is_drawn_in_their_own_colours(look: str) -> None:
    pixels = _pixels(strip_png(scene("squat_free", look=look)))
    assert _share_of(pixels, LOOKS[look].top) > 0.01
    assert _share_of(pixels, LOOKS[look].trousers) > 0.01


def test_a_position_to_hold_shows_the_feet_from_above() -> None:
    pixels = _pixels(strip_png(scene("balance_heel_to_toe")))
    assert pixels.shape[1] == 2 * PANEL + GAP
    assert _share_of(pixels[:, PANEL + GAP :], LOOKS["rosa"].shoes) > 0.01
