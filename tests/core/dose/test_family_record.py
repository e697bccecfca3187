"""What a history means for the rules: good sessions, gaps, pain, hard days."""

from datetime import timedelta

import pytest

from core.dose.family_record import (
    family_record,
    is_good,
    joints_sore_in,
    sore_joints,
    waits_for_settling,
)
from core.dose.history import Ended, PainTold, SetDone, Unit
from core.vocabulary import Family, Spare
from tests.support.dose_cases import MONDAY, squat_set


def record(*sets, on=0, pains=(), before=10):
    return family_record(sets, pains, before, MONDAY + timedelta(days=on))


@pytest.mark.parametrize(
    ("changes", "good"),
    [
        ({}, True),
        ({"amount": 9}, False),
        ({"left": 0}, False),
        ({"left": None}, False),
        ({"slip": True}, False),
        ({"pain": 2}, True),
        ({"pain": 3}, False),
        ({"planned": None}, False),
        ({"left": 2, "lowest_good_left": 3}, False),
    ],
)
def test_a_good_set_is_whole_clean_painless_and_leaves_enough(changes, good):
    assert is_good(squat_set(1.0, **changes)) is good


def test_a_hold_is_good_without_left_told():
    done = SetDone(MONDAY, Family.BRACE, "b", 1.0, Unit.SECONDS, 20, None, planned=20)
    assert is_good(done)


def test_good_sessions_are_counted_at_the_base_demand_only():
    found = record(squat_set(0.9), squat_set(1.0, days=2), squat_set(1.0, days=4), on=6)
    assert found.base_demand == 1.0
    assert found.good_sessions == 2


def test_a_bad_set_starts_the_count_anew():
    found = record(squat_set(1.0), squat_set(1.0, days=2, left=0), squat_set(1.0, days=4), on=6)
    assert found.good_sessions == 1


def test_todays_sets_do_not_make_a_good_session_yet():
    assert record(squat_set(1.0), squat_set(1.0, days=2), on=2).good_sessions == 1


def test_an_eased_day_neither_counts_nor_interrupts():
    eased = squat_set(0.8, days=2, eased=True)
    found = record(squat_set(1.0), eased, squat_set(1.0, days=4), on=6)
    assert found.base_demand == 1.0
    assert found.good_sessions == 2


@pytest.mark.parametrize(("days", "gap"), [(13, False), (14, True), (60, True)])
def test_a_gap_is_fourteen_days_without_the_family(days, gap):
    assert record(squat_set(1.0), on=days).after_gap is gap


def test_the_whole_day_after_a_gap_stays_after_a_gap():
    assert record(squat_set(1.0), squat_set(1.0, days=20), on=20).after_gap


@pytest.mark.parametrize(("stop_at", "hard"), [(1, True), (3, True), (4, False)])
def test_a_set_planned_at_three_or_fewer_left_is_hard(stop_at, hard):
    found = record(squat_set(1.0, stop_at_left=stop_at), on=1)
    assert found.hard_yesterday is hard


def test_the_day_before_yesterday_is_no_longer_hard_yesterday():
    assert not record(squat_set(1.0), on=2).hard_yesterday


def test_two_sessions_at_none_left_are_seen_even_if_only_one_set_each():
    sets = (
        squat_set(1.0, left=0),
        squat_set(1.0, left=2),
        squat_set(1.0, days=2, left=0),
    )
    assert record(*sets, on=4).none_left_twice
    assert not record(*sets[:2], on=4).none_left_twice


@pytest.mark.parametrize(("days", "limited"), [(0, True), (10, True), (11, False)])
def test_pain_keeps_demand_at_87_percent_for_ten_days(days, limited):
    # .87 and ten days are from our own simulation.
    limit = record(squat_set(1.0, pain=3), on=days).pain_limit
    assert limit == (pytest.approx(0.87) if limited else None)


def test_a_told_pain_limits_the_demand_that_was_done_before_it():
    pain = PainTold(MONDAY, Family.SQUAT, None, 4)
    assert record(squat_set(1.0), on=3, pains=(pain,)).pain_limit == pytest.approx(0.87)


@pytest.mark.parametrize(
    ("pain", "days", "stopped"),
    [
        # Up to 5 is acceptable, over 5 stops (Ageberg 2010); sharp stops (caution).
        (PainTold(MONDAY, Family.SQUAT, None, 5), 0, False),
        (PainTold(MONDAY, Family.SQUAT, None, 6), 0, True),
        (PainTold(MONDAY, Family.SQUAT, None, 2, sharp=True), 0, True),
        (PainTold(MONDAY, Family.SQUAT, None, 6), 2, True),
        (PainTold(MONDAY, Family.SQUAT, None, 6), 3, False),
        (PainTold(MONDAY, Family.SQUAT, None, 6, settled=True), 0, True),
        (PainTold(MONDAY, Family.SQUAT, None, 6, settled=True), 1, False),
        (PainTold(MONDAY, Family.SQUAT, None, 4, settled=False), 1, True),
        (PainTold(MONDAY, Family.SQUAT, None, 4, settled=False), 11, False),
    ],
)
def test_pain_over_the_limit_or_not_settled_keeps_the_family_out(pain, days, stopped):
    assert record(on=days, pains=(pain,)).stopped is stopped


def test_six_sessions_make_an_established_client():
    assert record(before=5).first_sessions
    assert not record(before=6).first_sessions


def test_holds_in_a_row_count_until_a_touch():
    def hold(day, slip=False):
        on = MONDAY + timedelta(days=day)
        return SetDone(on, Family.BALANCE, "b", 9.0, Unit.SECONDS, 20, None, slip, planned=20)

    assert record(hold(0), hold(2), on=4).good_holds == 2
    assert record(hold(0), hold(2, slip=True), hold(4), on=6).good_holds == 1


@pytest.mark.parametrize(
    ("pain", "days", "spared"),
    [
        # A sore knee told in the morning is spared that day and the next two.
        (PainTold(MONDAY, None, Spare.KNEE, 4), 0, True),
        (PainTold(MONDAY, None, Spare.KNEE, 4), 2, True),
        (PainTold(MONDAY, None, Spare.KNEE, 4), 3, False),
        # Not settled by morning: for ten days, and never longer.
        (PainTold(MONDAY, None, Spare.KNEE, 4, settled=False), 10, True),
        (PainTold(MONDAY, None, Spare.KNEE, 4, settled=False), 11, False),
        # A mild pain, one that has settled, and one tied to a movement spare no joint.
        (PainTold(MONDAY, None, Spare.KNEE, 2), 0, False),
        (PainTold(MONDAY, None, Spare.KNEE, 4, settled=True), 1, False),
        (PainTold(MONDAY, Family.SQUAT, Spare.KNEE, 4), 0, False),
    ],
)
def test_a_pain_told_in_the_morning_spares_its_joint_and_no_more(pain, days, spared):
    found = sore_joints([pain], MONDAY + timedelta(days=days))

    assert found == (frozenset({Spare.KNEE}) if spared else frozenset())


@pytest.mark.parametrize(
    ("pain", "days", "asked"),
    [
        (PainTold(MONDAY, Family.PUSH, Spare.WRIST, 4), 1, True),
        (PainTold(MONDAY, Family.PUSH, Spare.WRIST, 1), 1, True),
        (PainTold(MONDAY, Family.PUSH, Spare.WRIST, 0), 1, False),
        (PainTold(MONDAY, Family.PUSH, Spare.WRIST, 4), 0, False),
        (PainTold(MONDAY, Family.PUSH, Spare.WRIST, 4, settled=True), 1, False),
        # Until it has settled it is asked each morning, ten days long.
        (PainTold(MONDAY, Family.PUSH, Spare.WRIST, 4, settled=False), 6, True),
        (PainTold(MONDAY, Family.PUSH, Spare.WRIST, 4, settled=False), 11, False),
    ],
)
def test_a_pain_told_in_training_is_asked_about_until_it_has_settled(pain, days, asked):
    assert waits_for_settling([pain], MONDAY + timedelta(days=days)) is asked


@pytest.mark.parametrize(
    ("pain", "days", "spared"),
    [
        (PainTold(MONDAY, Family.PUSH, Spare.WRIST, 4), 0, True),
        (PainTold(MONDAY, Family.PUSH, Spare.WRIST, 4), 2, True),
        (PainTold(MONDAY, Family.PUSH, Spare.WRIST, 4), 3, False),
        (PainTold(MONDAY, Family.PUSH, Spare.WRIST, 4, settled=True), 1, False),
        (PainTold(MONDAY, Family.PUSH, Spare.WRIST, 2), 0, False),
        (PainTold(MONDAY, Family.SQUAT, Spare.WRIST, 4), 0, False),
        (PainTold(MONDAY, None, Spare.WRIST, 4), 0, False),
    ],
)
def test_a_joint_that_hurt_in_a_movement_is_spared_in_it(pain, days, spared):
    sore = joints_sore_in([pain], Family.PUSH, MONDAY + timedelta(days=days))
    assert sore == ({Spare.WRIST} if spared else set())


def test_a_mild_pain_that_lasts_makes_a_movement_easier_and_does_not_stop_it():
    mild = PainTold(MONDAY, Family.SQUAT, None, 2, settled=False)
    found = record(squat_set(0.4), pains=[mild], on=2)
    assert not found.stopped
    assert found.pain_limit == pytest.approx(0.87 * 0.4)


@pytest.mark.parametrize(("stop_at", "none"), [(1, False), (2, False), (3, True), (4, True)])
def test_a_stop_as_told_with_none_left_told_is_doubted_where_three_should_have_been_left(
    stop_at, none
):
    done = squat_set(
        1.0, amount=8, left=0, planned=10, stop_at_left=stop_at, ended=Ended.TOLD_TO_STOP
    )
    assert family_record((done,), (), 9, MONDAY + timedelta(days=2)).none_left is none
