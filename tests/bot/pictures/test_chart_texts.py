"""Whoever cannot see a chart hears its lowest, highest, last and usual figure, with units.

That a text gives what the picture is for, figures included, asks WCAG 2.2, 1.1.1 (from memory).
"""

from typing import Any

import pytest

from bot.pictures.chart_texts import in_words
from tests.bot.pictures.test_charts import CLIMB, EXAMPLES, MOVEMENT, WEEKS
from tests.support.talk import words

NAMED = {**CLIMB, "order": ["squat"], "names": {"squat": "squat"}}
PLANS = ["as_planned", "ease_off", None]


@pytest.mark.parametrize(
    ("chart", "data", "told"),
    [
        (
            "weekly_load",
            WEEKS,
            (
                "Lowest 40, highest 75, last 40 minutes. Most weeks 64 minutes. "
                "2 Nov: 60, 9 Nov: 75, 16 Nov: 40."
            ),
        ),
        (
            "weekly_load",
            {**WEEKS, "usual": None},
            "last 40 minutes. 2 Nov: 60, 9 Nov: 75, 16 Nov: 40.",
        ),
        (
            "readiness",
            EXAMPLES["readiness"],
            (
                "Lowest -1.8, highest +0.5, last +0.1 points; 0 is the usual. "
                "From -0.6 to +0.6 points a day stays as planned. 1 Nov: as planned, +0.1, "
            ),
        ),
        (
            "movement_climb",
            MOVEMENT,
            (
                "highest 120 %, last 120 % of the first day. The last is likely between "
                "105 % and 135 %. 1 Oct: 100 %, 5 Oct: 110 %, 9 Oct: 120 %."
            ),
        ),
        (
            "climb",
            NAMED,
            "Squat, since 5 Oct: lowest 100 %, highest 112 %, last 112 % of the start.",
        ),
    ],
)
def test_a_chart_is_told_with_its_figures_and_units(chart: str, data: dict[str, Any], told: str):
    said = in_words(chart, data, words())
    assert said.startswith("A chart of ")
    assert told in said


def test_a_morning_without_a_score_is_told_by_its_plan_alone():
    data = {**EXAMPLES["readiness"], "days": ["1 Nov", "2 Nov", "3 Nov"], "plans": PLANS}
    said = in_words("readiness", {**data, "distances": [None, -0.7, None]}, words())
    assert "1 Nov: as planned, 2 Nov: lighter, -0.7." in said
    assert "3 Nov" not in said
