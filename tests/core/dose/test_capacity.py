"""The capacity filter: what sets, days, pains and slips do to belief."""

import math
from datetime import timedelta

import pytest

from core.dose.capacity import after_set, open_day, starting_capacity
from core.dose.history import Ended, SetDone, Unit
from core.dose.reps_curve import effort_of_reps
from core.vocabulary import Family
from tests.support.dose_cases import MONDAY, squat_set

STARTS = {Family.SQUAT: 0.0, Family.PUSH: 0.0, Family.BRACE: 0.0}


def fresh():
    return starting_capacity(STARTS)


def baseline(capacity, family=Family.SQUAT):
    return capacity.baseline(family).mean


def after(*sets):
    capacity = fresh()
    for done in sets:
        capacity = after_set(capacity, done)
    return capacity


def test_belief_moves_toward_what_a_set_showed():
    demand = math.exp(0.3 - effort_of_reps(14))
    many = after(*(squat_set(demand, days=3 * n, amount=10, left=2) for n in range(12)))
    assert baseline(many) == pytest.approx(0.3, abs=0.08)


def test_a_set_makes_belief_surer_and_idle_days_make_it_less_sure():
    one = after(squat_set(0.6))
    assert one.baseline(Family.SQUAT).sd < fresh().baseline(Family.SQUAT).sd
    later = open_day(one, MONDAY + timedelta(days=10), None)
    assert later.baseline(Family.SQUAT).sd > one.baseline(Family.SQUAT).sd


def test_a_set_tells_something_about_the_other_families():
    strong = after(squat_set(0.9, left=4))
    assert baseline(strong, Family.PUSH) > 0.1
    assert baseline(strong, Family.PUSH) < baseline(strong)


def test_the_same_day_is_shared_by_all_families():
    base = after(*(squat_set(0.7, days=2 * n, left=2) for n in range(10)))
    low = after_set(base, squat_set(0.7, days=20, amount=5, left=1))
    assert low.day_offset < -0.01
    assert low.forecast(Family.PUSH).mean < baseline(low, Family.PUSH)


def test_the_days_offset_is_forgotten_overnight():
    low = after(squat_set(0.9, amount=3, left=0))
    tomorrow = open_day(low, MONDAY + timedelta(days=1), 0.02)
    assert tomorrow.day_offset == 0.02


def test_opening_a_day_again_keeps_what_its_sets_have_shown():
    one = after(squat_set(0.9))
    assert open_day(one, MONDAY, -0.2) is one


@pytest.mark.parametrize(("told", "more"), [(0, 1), (1, 2), (2, 3), (3, 4)])
def test_more_left_told_means_more_capacity(told, more):
    assert baseline(after(squat_set(0.6, left=told))) < baseline(after(squat_set(0.6, left=more)))


def test_five_or_more_never_lowers_belief_and_lifts_a_low_one():
    assert baseline(after(squat_set(0.3, left=5))) >= 0.0
    assert baseline(after(squat_set(0.9, left=5))) > 0.1


def test_five_or_more_says_little_where_much_more_was_expected():
    assert baseline(after(squat_set(0.2, amount=8, left=5))) == pytest.approx(0.0, abs=0.01)


def test_a_slip_means_that_no_more_was_possible():
    assert baseline(after(squat_set(0.7, left=1, slip=True))) < baseline(
        after(squat_set(0.7, left=1))
    )


def test_a_slip_with_plenty_in_hand_is_no_reading_of_strength():
    assert baseline(after(squat_set(0.7, left=5, slip=True))) == 0.0


def test_a_painful_set_is_no_reading_of_strength():
    assert baseline(after(squat_set(0.9, amount=2, left=0, pain=3))) == 0.0


def test_a_set_that_could_not_be_finished_lowers_belief():
    whole = after(squat_set(0.8, amount=6, left=0, planned=6))
    short = after(squat_set(0.8, amount=6, left=0, planned=12, ended=Ended.COULD_NOT))
    assert baseline(short) < baseline(whole)


def test_not_one_repetition_lowers_belief_and_an_empty_record_does_not():
    assert baseline(after(squat_set(0.95, amount=0, left=0))) < 0.0
    assert baseline(after(squat_set(0.95, amount=0, left=None))) == 0.0


def test_left_not_told_is_a_lower_bound_only():
    assert baseline(after(squat_set(0.3, left=None))) >= 0.0
    assert baseline(after(squat_set(0.9, left=None))) > 0.0


def test_who_fails_often_turns_out_to_tell_too_many_left():
    sets = []
    for n in range(20):
        sets.append(squat_set(0.7, days=2 * n, amount=10, left=3))
        sets.append(squat_set(0.7, days=2 * n, amount=9, left=0, planned=12))
    assert after(*sets).mean[1] < fresh().mean[1]


def test_two_weeks_away_lower_capacity_and_two_days_do_not():
    trained = after(squat_set(0.7))
    soon = open_day(trained, MONDAY + timedelta(days=2), None)
    late = open_day(trained, MONDAY + timedelta(days=40), None)
    assert baseline(soon) >= baseline(trained)
    assert baseline(late) < baseline(trained) - 0.05


def test_time_away_adds_up_the_same_in_one_step_or_day_by_day():
    at_once = open_day(after(squat_set(0.7)), MONDAY + timedelta(days=30), None)
    daily = after(squat_set(0.7))
    for day in range(1, 31):
        daily = open_day(daily, MONDAY + timedelta(days=day), None)
    assert baseline(daily) == pytest.approx(baseline(at_once))
    assert daily.baseline(Family.SQUAT).sd == pytest.approx(at_once.baseline(Family.SQUAT).sd)


def test_a_hold_is_read_in_seconds():
    def held(seconds):
        return SetDone(MONDAY, Family.BRACE, "b", 0.7, Unit.SECONDS, seconds, 1, planned=seconds)

    assert baseline(after(held(15)), Family.BRACE) < baseline(after(held(40)), Family.BRACE)


def test_one_absurd_set_does_not_overturn_twenty():
    sets = [squat_set(0.6, days=2 * n, left=2) for n in range(20)]
    steady = after(*sets)
    slip_of_thumb = after_set(steady, squat_set(0.6, days=40, amount=60, left=4))
    assert baseline(slip_of_thumb) - baseline(steady) < 0.15


def test_a_family_without_a_start_value_leaves_belief_as_it_is():
    done = SetDone(MONDAY, Family.BALANCE, "b", 9.0, Unit.SECONDS, 20, None)
    assert after(done).mean.tolist() == open_day(fresh(), MONDAY, None).mean.tolist()
