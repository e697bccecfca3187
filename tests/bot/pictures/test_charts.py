"""Charts read on a phone and never speak by colour alone."""

from io import BytesIO
from typing import Any

import numpy as np
import pytest
from PIL import Image

from bot.pictures.charts import (
    DRAWN_BY,
    PLAN_MARKS,
    WIDTH_PX,
    climb,
    movement_climb,
    readiness,
    weekly_load,
)

WORDS = {
    "usual": "as usual",
    "better": "better",
    "lower": "lower",
    "much_lower": "much lower",
    "usual_week": "usual week",
    "as_planned": "as planned",
    "ease_off": "ease off",
    "rest": "rest",
    "this_week": "this week",
    "capacity": "what you can do",
    "likely": "likely range",
    "done": "done",
}


def _readiness(**changes: Any) -> dict[str, Any]:
    data = {
        "title": "Mornings",
        "days": [f"{day} Nov" for day in range(1, 11)],
        "distances": [0.1, 0.2, None, 0.5, -0.7, -1.8, 0.3, None, 0.2, 0.1],
        "plans": [
            "as_planned", "as_planned", None, "as_planned", "ease_off", "rest", "as_planned",
            None, "as_planned", "as_planned",
        ],
        "low": -0.56,
        "high": 0.56,
        "words": WORDS,
    }  # fmt: skip
    return {**data, **changes}


WEEKS = {
    "title": "Minutes",
    "weeks": ["2 Nov", "9 Nov", "16 Nov"],
    "minutes": [60, 75, 40],
    "usual": 64,
    "words": WORDS,
}
CLIMB = {"squat": [["2026-10-05", 100], ["2026-10-12", 106], ["2026-10-19", 112]]}
MOVEMENT = {
    "title": "Squat",
    "days": ["1 Oct", "5 Oct", "9 Oct"],
    "on": ["2026-10-01", "2026-10-05", "2026-10-09"],
    "capacity": [0.2, 0.22, 0.24],
    "low": [0.15, 0.18, 0.21],
    "high": [0.25, 0.26, 0.27],
    "done": [0.18, None, 0.22],
    "rungs": [[0.18, "Sit to a high chair"], [0.22, "Touch the chair"]],
    "words": WORDS,
}
EXAMPLES = {
    "readiness": _readiness(),
    "weekly_load": WEEKS,
    "climb": CLIMB,
    "movement_climb": MOVEMENT,
}


def _pixels(content: bytes) -> np.ndarray:
    return np.asarray(Image.open(BytesIO(content)).convert("RGB")).astype(int)


def test_every_chart_has_an_example_here() -> None:
    assert set(EXAMPLES) == set(DRAWN_BY)


@pytest.mark.parametrize("name", EXAMPLES)
def test_a_chart_is_as_wide_as_a_phone_and_the_same_each_time(name: str) -> None:
    first, second = (DRAWN_BY[name](EXAMPLES[name]) for _ in range(2))
    assert first == second
    assert _pixels(first).shape[1] == WIDTH_PX


def test_plans_differ_by_mark_and_not_only_by_colour() -> None:
    marks = [mark for mark, _ in PLAN_MARKS.values()]
    assert len(set(marks)) == len(marks) == 3
    grey = [_pixels(readiness(_readiness(plans=[plan] * 10))).mean(axis=2) for plan in PLAN_MARKS]
    assert np.abs(grey[0] - grey[1]).max() > 60


def test_a_missing_day_leaves_a_gap() -> None:
    whole = readiness(_readiness(distances=[0.2] * 10, plans=["as_planned"] * 10))
    gap = readiness(_readiness(distances=[0.2] * 4 + [None] + [0.2] * 5, plans=["as_planned"] * 10))
    between = _pixels(whole).sum(axis=2) - _pixels(gap).sum(axis=2)
    assert (between < -30).sum() > 200  # the mark and the line are gone


def test_no_score_stands_beside_a_morning() -> None:
    """The scale is in words, so that ten times the distance gives no other label."""
    near, far = readiness(_readiness()), readiness(_readiness(low=-0.3, high=0.3))
    labels = [_pixels(one)[:, :130].sum(axis=2) for one in (near, far)]
    assert (labels[0] == labels[1]).all()


@pytest.mark.parametrize("days", [1, 2, 28])
def test_readiness_takes_any_number_of_days(days: int) -> None:
    data = _readiness(
        days=[f"{k + 1} Nov" for k in range(days)], distances=[-0.5] * days, plans=["rest"] * days
    )
    assert _pixels(readiness(data)).shape[1] == WIDTH_PX


def test_the_usual_week_is_a_line_across_the_bars() -> None:
    with_line = _pixels(weekly_load(WEEKS))
    without = _pixels(weekly_load({**WEEKS, "usual": None}))
    changed = np.abs(with_line - without).max(axis=2) > 60
    assert changed.sum(axis=1).max() > 250  # one row, most of the width


def test_weeks_without_training_are_drawn() -> None:
    assert weekly_load({**WEEKS, "minutes": [0, 0, 0], "usual": None}).startswith(b"\x89PNG")


def test_each_movement_has_its_own_line_in_the_climb() -> None:
    one = _pixels(climb(CLIMB)).shape[0]
    three = _pixels(climb({**CLIMB, "push": CLIMB["squat"], "pull": CLIMB["squat"]})).shape[0]
    assert three > 2 * (one - 60)


def test_what_is_done_stands_under_each_line_of_the_climb() -> None:
    lines = {**CLIMB, "push": CLIMB["squat"]}
    rungs = {"squat": ["Sit and stand", "Touch the chair"], "push": ["Wall push"]}
    plain, told = climb(lines), climb({**lines, "rungs": rungs})
    assert _pixels(told).shape[0] > _pixels(plain).shape[0]
    swapped = climb({**lines, "rungs": {**rungs, "squat": ["Wall push"]}})
    assert swapped != told


def test_the_climb_keeps_the_order_that_is_asked_for() -> None:
    lines = {**CLIMB, "push": [["2026-10-05", 100], ["2026-10-12", 90]]}
    assert climb({**lines, "order": ["push", "squat"]}) != climb(lines)
    assert climb({**lines, "order": ["squat", "push"]}) == climb(lines)


def test_uncertainty_is_drawn_wider_when_it_is_wider() -> None:
    wide = {**MOVEMENT, "low": [0.10, 0.12, 0.14]}
    ground = np.array([0xFA, 0xF5, 0xEA])

    def inked(data: dict[str, Any]) -> float:
        return float((np.abs(_pixels(movement_climb(data)) - ground).max(axis=2) > 8).mean())

    assert inked(wide) > inked({**wide, "low": [0.19, 0.21, 0.23]}) * 1.2


def test_days_stand_as_far_apart_as_they_are() -> None:
    even = {**MOVEMENT, "on": ["2026-10-01", "2026-10-05", "2026-10-09"]}
    late = {**MOVEMENT, "on": ["2026-10-01", "2026-10-02", "2026-10-09"]}
    assert movement_climb(even) != movement_climb(late)
