"""Contact sheet and scale of demand."""

from io import BytesIO

import numpy as np
import pytest
from PIL import Image

from bot.pictures.scenes import scene_of, scenes_of_all
from bot.pictures.sheets import (
    ACCENT,
    COLUMNS,
    MOST_FIGURES,
    SLOT_WIDE,
    Captioned,
    ScaleStep,
    _across,
    _largest_scale,
    contact_sheet,
    demand_scale_picture,
)
from core.client.client import Client
from core.figure.people import LOOKS
from core.movements.ladder import ladder
from core.vocabulary import Family
from tests.core.figure.scenes import CATALOGUE, KIT, scene, start_and_end

WORDS = ("easier", "harder")


def _pixels(content: bytes) -> np.ndarray:
    return np.asarray(Image.open(BytesIO(content)).convert("RGB")).astype(int)


def test_a_contact_sheet_reports_each_picture_and_grows_by_rows() -> None:
    told: list[tuple[int, int]] = []
    rungs = [rung.id for rung in CATALOGUE.rungs(Family.SQUAT)][: COLUMNS + 1]
    pictures = [Captioned(scene(rung), rung) for rung in rungs]
    two_rows = contact_sheet(pictures, lambda done, total: told.append((done, total)))
    assert told == [(k, COLUMNS + 1) for k in range(1, COLUMNS + 2)]
    one_row = contact_sheet(pictures[:COLUMNS])
    assert _pixels(two_rows).shape[0] > 1.7 * _pixels(one_row).shape[0]


def _steps() -> list[ScaleStep]:
    client = Client("Ann", stature_cm=162.0, mass_kg=70.0, kit=KIT, floor_ok=True)
    return [
        ScaleStep(scene(step.rung, step.setting), step.key, step.demand, bool(step.hole_above))
        for step in ladder(client, Family.PUSH, CATALOGUE)
    ]


def test_figures_stand_along_the_scale_where_their_demand_is() -> None:
    steps = _steps()
    pixels = _pixels(demand_scale_picture(steps, "Push", WORDS))
    accent = np.array([int(ACCENT[k : k + 2], 16) for k in (1, 3, 5)])
    dots = (np.abs(pixels - accent).max(axis=2) < 10).any(axis=0)
    columns = np.flatnonzero(dots)
    assert columns.max() - columns.min() > 0.8 * pixels.shape[1]
    assert len(steps) > MOST_FIGURES


@pytest.mark.parametrize("rung", ["brace_toes", "push_step", "brace_opposite", "side_lying_band"])
def test_long_figures_fit_into_their_slot(rung: str) -> None:
    figure = start_and_end(scene(rung))[1]
    left, right = _across(figure)
    assert (right - left) * _largest_scale(figure) <= SLOT_WIDE


def test_a_scale_of_one_step_is_drawn() -> None:
    assert demand_scale_picture(_steps()[:1], "Push", WORDS).startswith(b"\x89PNG")


def test_a_scale_without_steps_is_refused() -> None:
    with pytest.raises(ValueError, match="at least one"):
        demand_scale_picture([], "Push", WORDS)


def test_a_scene_of_a_step_has_the_clients_body_and_setting() -> None:
    client = Client("Ann", stature_cm=180.0, mass_kg=70.0, kit=KIT)
    one = scene_of("squat_to_chair@cushion=8", client, Family.SQUAT, CATALOGUE)
    assert one.body.stature == pytest.approx(1.80)
    assert one.dial("cushion") == 8.0


def test_the_sheet_has_every_rung_and_several_people() -> None:
    scenes = scenes_of_all(CATALOGUE)
    assert [s.rung.id for s in scenes] == [rung.id for rung in CATALOGUE]
    assert len({s.look.name for s in scenes}) == len(LOOKS)
