"""Capacity over time, as a coach sees it."""

import math
from datetime import timedelta

import pytest

from core.dose.capacity import Forecast, starting_capacity
from core.dose.climb import climb_of, demand_at, likely_range, most_at
from core.dose.history import Unit
from core.vocabulary import Family
from tests.support.dose_cases import MONDAY, squat_set

START = starting_capacity({Family.SQUAT: math.log(0.5), Family.PUSH: math.log(3.0)})


def test_each_day_of_the_family_and_today_is_a_point_and_sets_narrow_the_range():
    sets = [squat_set(0.3, days=day, left=3) for day in (0, 2, 4, 4, 7)]
    climb = climb_of(START, sets, Family.SQUAT, MONDAY + timedelta(days=9))

    assert [(one.on - MONDAY).days for one in climb] == [0, 2, 4, 7, 9]
    assert [one.done for one in climb] == [0.3, 0.3, 0.3, 0.3, None]
    spreads = [one.baseline.sd for one in climb]
    assert spreads[:4] == sorted(spreads[:4], reverse=True)
    assert spreads[4] > spreads[3], "days without a set make it less certain"


def test_the_highest_set_of_a_day_stands_for_it():
    sets = [squat_set(0.30), squat_set(0.34), squat_set(0.32)]
    (only,) = climb_of(START, sets, Family.SQUAT, MONDAY)
    assert only.done == 0.34


def test_a_family_without_sets_has_no_climb():
    assert climb_of(START, [squat_set(0.3)], Family.PUSH, MONDAY) == ()


@pytest.mark.parametrize("unit", list(Unit))
def test_what_can_be_done_at_a_demand_is_what_that_demand_was_made_for(unit: Unit):
    demand = demand_at(math.log(0.5), 15, 2, unit)
    per_left = 1 if unit is Unit.REPS else 5
    assert most_at(math.log(0.5) + 1e-9, demand, unit) == 15 + 2 * per_left


def test_a_demand_over_capacity_allows_none():
    assert most_at(math.log(0.5), 0.6, Unit.REPS) == 0


def test_the_likely_range_holds_eight_of_ten():
    low, high = likely_range(Forecast(1.0, 0.1))
    share = 0.5 * (math.erf((high - 1.0) / 0.1 / math.sqrt(2)) * 2)
    assert low + high == pytest.approx(2.0)
    assert share == pytest.approx(0.80, abs=0.002)
