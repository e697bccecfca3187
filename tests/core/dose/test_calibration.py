"""Calibration sets: when one is due, what rules it out, and that it finds a strong client.

The rules are the project's own (caution); no source gives numbers for homes.
"""

from dataclasses import replace
from datetime import timedelta

import pytest

from bot.cli.closed_loop_client import LoopClient
from core.client.operations import Operation
from core.dose.bounds import safe_bounds
from core.dose.calibration import FEWEST_REPS, MOST_REPS, calibration_day, stop_at_left
from core.dose.family_record import family_record
from core.dose.history import Ended
from core.dose.prescription import DoseCode
from core.readiness.morning_questions import IllKind, Morning
from core.vocabulary import Aim, Condition, Family, Medicine
from tests.support.dose_cases import MONDAY, client_of, fine_ladder, squat_set

CALM = client_of(Aim.OPEN, falls=0)


def told(on, ill=IllKind.NONE):
    return Morning(on, sleep=4, tiredness=4, soreness=4, stress=4, mood=4, ill=ill)


def strong_loop(client=CALM, sessions=2, done=None, **changes):
    """A client who tells five or more each session; stands before the next session.

    Args:
        done: takes the demand that was done last of each family.
    """
    loop = LoopClient(client, {Family.SQUAT: fine_ladder(), Family.PUSH: fine_ladder()})
    for session in range(sessions):
        on = MONDAY + timedelta(days=2 * session)
        ill = changes.get("ill_on") == session
        loop.morning(on, told(on, IllKind.ABOVE_NECK if ill else IllKind.NONE))
        for family in loop.families():
            given = loop.next_set(family)
            if done is not None:
                done[family] = given.step.demand
            pain = changes.get("pain", 0) if session == 1 else 0
            loop.set_done(family, given.amount, 5, slip=False, pain=pain)
    on = MONDAY + timedelta(days=2 * sessions)
    loop.morning(on, told(on))
    return loop


def test_five_or_more_twice_leads_to_one_calibration_set_a_session():
    loop = strong_loop()
    given = loop.next_set(Family.SQUAT)
    assert given.calibration
    assert (given.amount, given.stop_at_left, given.sets) == (MOST_REPS, 3, 1)
    assert [reason.code for reason in given.reasons] == [DoseCode.CALIBRATION]
    loop.set_done(Family.SQUAT, 20, 5, slip=False, pain=0)
    assert not loop.next_set(Family.SQUAT).calibration
    assert not loop.next_set(Family.PUSH).calibration


@pytest.mark.parametrize(("sessions", "left"), [(5, 3), (6, 2)])
def test_from_the_seventh_session_it_stops_with_two_left(sessions, left):
    record = family_record((squat_set(0.5),), (), sessions, MONDAY + timedelta(days=2))
    assert stop_at_left(record) == left


@pytest.mark.parametrize("aim", list(Aim))
def test_all_twenty_buy_one_further_step_at_the_fewest_and_no_second(aim):
    loop = strong_loop(replace(CALM, aim=aim))
    first = loop.next_set(Family.SQUAT)
    loop.set_done(Family.SQUAT, MOST_REPS, 5, slip=False, pain=0)
    further = loop.next_set(Family.SQUAT)
    assert first.step.demand < further.step.demand <= first.step.demand * 1.15
    assert (further.amount, further.sets) == (FEWEST_REPS, 1)
    assert [reason.code for reason in further.reasons] == [DoseCode.FURTHER_STEP]
    loop.set_done(Family.SQUAT, further.amount, 5, slip=False, pain=0)
    assert loop.next_set(Family.SQUAT).step.demand <= first.step.demand


def test_a_day_that_is_eased_in_the_middle_gets_no_further_step():
    whole = squat_set(0.5, amount=20, planned=20, left=5, calibration=True, stop_at_left=3)
    record = family_record((whole,), (), 9, whole.on)
    assert record.bought
    steps = fine_ladder()
    eased = safe_bounds(CALM, steps, record, ease_off=True, careful=False).allowed
    as_planned = safe_bounds(CALM, steps, record, ease_off=False, careful=False).allowed
    assert max(step.demand for step in eased) <= 0.5 < max(step.demand for step in as_planned)


def test_a_further_step_that_went_well_is_the_first_good_session_at_it():
    whole = squat_set(0.5, amount=20, planned=20, left=5, calibration=True, stop_at_left=3)
    further = squat_set(0.55, amount=8, planned=8, left=4)
    on = MONDAY + timedelta(days=2)
    record = family_record((whole, further), (), 9, on)
    assert (record.base_demand, record.good_sessions) == (0.55, 1)
    failed = replace(further, slip=True)
    assert family_record((whole, failed), (), 9, on).good_sessions == 0


@pytest.mark.parametrize(
    ("amount", "left", "changes"),
    [
        (19, 3, {"ended": Ended.TOLD_TO_STOP}),
        (20, 1, {}),
        (20, None, {}),
        (20, 5, {"slip": True}),
        (20, 5, {"pain": 1}),
    ],
)
def test_anything_less_than_all_twenty_well_done_buys_nothing(amount, left, changes):
    loop = strong_loop()
    first = loop.next_set(Family.SQUAT)
    loop.set_done(Family.SQUAT, amount, left, **{"slip": False, "pain": 0, **changes})
    assert loop.next_set(Family.SQUAT).step.demand <= first.step.demand


def test_much_soreness_the_morning_after_rules_out_another_for_two_weeks():
    sets = [squat_set(0.5, days=2 * d, calibration=d == 2) for d in range(12)]
    after, other = MONDAY + timedelta(days=5), MONDAY + timedelta(days=7)
    assert calibration_day(CALM, sets, [], MONDAY + timedelta(days=14), [other])
    assert not calibration_day(CALM, sets, [], MONDAY + timedelta(days=14), [after])
    assert calibration_day(CALM, sets, [], MONDAY + timedelta(days=20), [after])


def test_it_is_never_above_what_was_done_last_without_pain():
    done: dict[Family, float] = {}
    given = strong_loop(done=done).next_set(Family.SQUAT)
    assert given.calibration
    assert given.step.demand <= done[Family.SQUAT]


@pytest.mark.parametrize(
    "changes",
    [
        {"conditions": frozenset({Condition.VALVE})},
        {"conditions": frozenset({Condition.DEFIBRILLATOR})},
        {"conditions": frozenset({Condition.PRESSURE})},
        {"conditions": frozenset({Condition.LUNG})},
        {"conditions": frozenset({Condition.THIN_BONES})},
        {"conditions": frozenset({Condition.ANEURYSM})},
        {"medicines": frozenset({Medicine.INSULIN})},
        {"medicines": frozenset({Medicine.STEROID})},
        {"medicines": frozenset({Medicine.QUINOLONE})},
        {"medicines": frozenset({Medicine.UNKNOWN})},
        {"falls": 1},
        {"operations": (Operation(),)},
    ],
)
def test_what_could_make_it_unsafe_rules_it_out(changes):
    assert not strong_loop(replace(CALM, **changes)).next_set(Family.SQUAT).calibration


@pytest.mark.parametrize("changes", [{"sessions": 1}, {"ill_on": 1}, {"pain": 3}])
def test_neither_too_early_nor_ill_nor_in_pain(changes):
    assert not strong_loop(**changes).next_set(Family.SQUAT).calibration


def test_not_where_falls_were_not_asked_and_not_after_a_gap():
    sets = [squat_set(0.5, days=days) for days in (0, 2, 4)]
    soon, late = MONDAY + timedelta(days=6), MONDAY + timedelta(days=24)
    assert calibration_day(CALM, sets, [], soon)
    assert not calibration_day(replace(CALM, falls=None), sets, [], soon)
    assert not calibration_day(CALM, sets, [], late)
    back = [*sets, squat_set(0.4, days=24), squat_set(0.4, days=26)]
    assert not calibration_day(CALM, back, [], MONDAY + timedelta(days=28))


def test_two_in_a_week_and_two_days_apart():
    once = [squat_set(0.5, days=d, calibration=d == 4) for d in (0, 2, 4)]
    assert not calibration_day(CALM, once, [], MONDAY + timedelta(days=5))
    assert calibration_day(CALM, once, [], MONDAY + timedelta(days=6))
    twice = [*once, squat_set(0.5, days=6, calibration=True)]
    assert not calibration_day(CALM, twice, [], MONDAY + timedelta(days=8))


def test_a_stop_with_two_left_shows_how_strong_a_client_is():
    loop = strong_loop()
    before = loop.capacity.baseline(Family.SQUAT).mean
    given = loop.next_set(Family.SQUAT)
    loop.set_done(Family.SQUAT, 20, 5, slip=False, pain=0, ended=Ended.AS_PLANNED)
    found = loop.capacity.baseline(Family.SQUAT)
    assert given.calibration
    assert found.mean > before
