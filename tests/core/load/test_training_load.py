"""Session load, the week's figures and their edges."""

from datetime import date

import pytest

from core.errors import OutOfRangeError
from core.load.training_load import (
    MOST_MONOTONOUS,
    daily_loads,
    monotony,
    session_load,
    strain,
    week_jump,
    week_load,
)
from core.readiness.scales import EffortRating, ScaleId


def test_session_load_is_effort_times_minutes():
    """Foster 1998."""
    assert session_load(EffortRating(4.5), 40) == 180


def test_the_other_effort_scale_gives_no_load():
    with pytest.raises(OutOfRangeError):
        session_load(EffortRating(5, ScaleId.CAPACITY_EFFORT), 40)


@pytest.mark.parametrize("minutes", [-1, float("inf"), float("nan")])
def test_minutes_that_cannot_be_give_no_load(minutes):
    with pytest.raises(OutOfRangeError):
        session_load(EffortRating(5), minutes)


def test_a_week_of_equal_days_has_the_most_monotony():
    """Spread zero: defined, not divided."""
    assert monotony([50.0] * 7) == MOST_MONOTONOUS
    assert strain([50.0] * 7) == 350 * MOST_MONOTONOUS


def test_a_nearly_equal_week_is_not_above_an_equal_one():
    assert monotony([100.0] * 6 + [100.001]) == MOST_MONOTONOUS


def test_an_empty_week_has_no_monotony_and_no_strain():
    assert monotony([0.0] * 7) == 0
    assert strain([0.0] * 7) == 0


@pytest.mark.parametrize("figure", [week_load, monotony, strain])
def test_a_week_has_seven_days(figure):
    with pytest.raises(OutOfRangeError):
        figure([1.0] * 6)


@pytest.mark.parametrize(
    ("this", "last", "jump"), [(550, 500, 0.1), (0, 500, -1.0), (500, 0, None), (0, 0, None)]
)
def test_the_jump_from_week_to_week(this, last, jump):
    assert week_jump(this, last) == (None if jump is None else pytest.approx(jump))


def test_days_without_a_session_count_zero():
    loads = {date(2026, 1, 2): 120.0, date(2026, 1, 9): 90.0}
    assert daily_loads(loads, date(2026, 1, 4), 4) == [0.0, 120.0, 0.0, 0.0]
