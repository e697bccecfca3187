"""Which steps may be offered, and by which rule each other one may not."""

from dataclasses import replace
from datetime import timedelta

import pytest

from core.client.care import is_careful
from core.client.client import KitAtHome, Limits
from core.client.steering import cares_of
from core.dose.bounds import safe_bounds
from core.dose.family_record import family_record
from core.dose.history import Ended
from core.dose.prescription import DoseCode
from core.movements.ladder import ladder
from core.vocabulary import Aim, Condition, Family, Kit, Spare
from tests.core.movements.people import catalogue, client
from tests.support.dose_cases import MONDAY, client_of, ladder_of, squat_set

STEPS = ladder_of([0.80, 0.88, 0.96, 1.00, 1.05, 1.10, 1.15, 1.20])


def bounds(sets, client=None, *, on=2, steps=STEPS, ease_off=False, **options):
    record = family_record(sets, (), 10, MONDAY + timedelta(days=on))
    client = client or client_of()
    careful = is_careful(client, cares_of(client, catalogue().steering))
    return safe_bounds(client, steps, record, ease_off=ease_off, careful=careful, **options)


def top(found):
    return max(step.demand for step in found.allowed)


def codes(found):
    return {step.demand: reason.code for step, reason in found.ruled_out}


def test_without_a_history_two_thirds_of_what_the_coach_allows_are_allowed():
    assert bounds(()).allowed == STEPS[:6]
    assert codes(bounds(()))[1.20] is DoseCode.HELD_FOR_GOOD_SESSIONS


def test_one_good_session_is_not_enough_to_climb():
    found = bounds((squat_set(1.0),))
    assert top(found) == 1.0
    assert codes(found)[1.05] is DoseCode.HELD_FOR_GOOD_SESSIONS


@pytest.mark.parametrize(
    ("facts", "sessions", "climbs"),
    [
        ({}, 10, True),
        ({}, 3, False),
        ({"falls": 1}, 10, False),
        ({"conditions": frozenset({Condition.HEART})}, 10, False),
    ],
)
def test_one_is_enough_of_who_always_tells_the_same_number(facts, sessions, climbs):
    """Waiting shows nothing more; not while new, nor where anything asks for care."""
    record = family_record((squat_set(1.0),), (), sessions, MONDAY + timedelta(days=2))
    who = client_of(**facts)
    careful = is_careful(who, cares_of(who, catalogue().steering))
    found = safe_bounds(who, STEPS, record, ease_off=False, careful=careful, same_told=True)
    assert (top(found) == 1.15) is climbs
    slipped = family_record((squat_set(1.0, slip=True),), (), 10, MONDAY + timedelta(days=2))
    found = safe_bounds(who, STEPS, slipped, ease_off=False, careful=careful, same_told=True)
    assert top(found) < 1.0


def test_two_good_sessions_allow_up_to_fifteen_percent():
    found = bounds((squat_set(1.0), squat_set(1.0, days=2)), on=4)
    assert top(found) == 1.15
    assert codes(found)[1.20] is DoseCode.STEP_TOO_LARGE


def test_the_open_aim_climbs_without_waiting():
    assert top(bounds((squat_set(1.0, left=0),), client_of(Aim.OPEN))) == 1.15


def test_later_sets_of_a_session_stay_at_or_under_its_first():
    found = bounds((squat_set(1.0, days=2),), client_of(Aim.OPEN))
    assert top(found) == 1.0
    assert codes(found)[1.05] is DoseCode.ONE_STEP_A_SESSION


@pytest.mark.parametrize("aim", list(Aim))
def test_an_ease_off_day_is_noticeably_easier(aim):
    good = (squat_set(1.0), squat_set(1.0, days=2))
    found = bounds(good, client_of(aim), on=4, ease_off=True)
    assert top(found) == 0.88


def test_after_a_gap_there_is_no_step_up():
    good = (squat_set(1.0), squat_set(1.0, days=2))
    assert top(bounds(good, on=16)) == 1.0


@pytest.mark.parametrize(
    ("sets", "code"),
    [
        ((squat_set(1.0, slip=True),), DoseCode.DOWN_AFTER_SLIP),
        ((squat_set(1.0, left=0), squat_set(1.0, days=2, left=0)), DoseCode.DOWN_AFTER_NONE_LEFT),
        (
            (squat_set(1.0, amount=8, left=0, ended=Ended.COULD_NOT),),
            DoseCode.DOWN_AFTER_COULD_NOT,
        ),
    ],
)
def test_a_slip_or_two_sessions_at_none_left_step_down_at_once(sets, code):
    found = bounds(sets, client_of(Aim.OPEN), on=4)
    assert top(found) == 0.88
    assert codes(found)[1.0] is code


def test_with_a_careful_condition_none_left_steps_down_the_first_time():
    sets = (squat_set(1.0, left=0),)
    careful = client_of(Aim.OPEN, conditions=frozenset({Condition.HEART}))
    assert top(bounds(sets, careful, on=4)) == 0.88
    assert codes(bounds(sets, careful, on=4))[1.0] is DoseCode.DOWN_AFTER_NONE_ONCE
    assert top(bounds(sets, client_of(Aim.OPEN), on=4)) > 0.88


def test_stopping_as_told_twice_is_no_reason_to_step_down():
    stops = {"amount": 8, "left": 0, "ended": Ended.TOLD_TO_STOP}
    sets = (squat_set(1.0, **stops), squat_set(1.0, days=2, **stops))
    assert top(bounds(sets, client_of(Aim.OPEN), on=4)) >= 1.0


def test_pain_steps_down_at_once():
    found = bounds((squat_set(1.0, pain=3),), client_of(Aim.OPEN))
    assert top(found) == 0.80
    assert codes(found)[0.88] is DoseCode.DOWN_AFTER_PAIN


def test_a_slip_steps_down_in_the_same_session():
    assert top(bounds((squat_set(1.0, days=2, slip=True),))) < 1.0


def test_the_lowest_step_stays_when_there_is_nothing_under_it():
    assert bounds((squat_set(0.80, slip=True),)).allowed == STEPS[:1]


def test_ceiling_floor_and_forbidden_rungs_are_kept():
    limits = Limits({Family.SQUAT: 1.05}, {Family.SQUAT: 0.88}, frozenset({"r3"}))
    found = bounds((), client_of(limits=limits))
    assert [step.demand for step in found.allowed] == [0.88, 0.96, 1.05]
    assert codes(found)[0.80] is DoseCode.UNDER_FLOOR
    assert codes(found)[1.0] is DoseCode.FORBIDDEN
    assert codes(found)[1.10] is DoseCode.OVER_CEILING


def test_the_floor_falls_where_safety_leaves_nothing_above_it():
    limits = Limits(floors={Family.SQUAT: 1.0})
    found = bounds((squat_set(1.0, slip=True),), client_of(limits=limits))
    assert top(found) == 0.88


def test_the_floor_does_not_count_for_a_client_who_asks_for_easier():
    limits = Limits(floors={Family.SQUAT: 1.0})
    found = bounds((), client_of(limits=limits), keep_floor=False)
    assert found.allowed == STEPS


def test_spared_joints_and_missing_kit_are_never_offered():
    steps = ladder_of(
        [0.8, 0.9, 1.0],
        needs=[(), (Kit.BAND,), ()],
        stresses=[frozenset(), frozenset(), frozenset({Spare.KNEE})],
    )
    client = client_of(kit=KitAtHome(), spares=frozenset({Spare.KNEE}))
    found = bounds((), client, steps=steps)
    assert codes(found) == {0.9: DoseCode.NO_KIT, 1.0: DoseCode.SPARED}


def test_overhead_is_off_unless_the_coach_allows_it():
    steps = ladder_of([0.8], Family.OVERHEAD)
    assert not bounds((), steps=steps).allowed
    allowed = client_of(limits=Limits(overhead_allowed=True))
    assert bounds((), allowed, steps=steps).allowed == steps


HOLED = ladder_of([0.9, 1.0, 1.25, 1.35])


def full(days, **changes):
    told = {"amount": 12, "planned": 12, "planned_top": 12, "left": 3, **changes}
    return squat_set(1.0, days=days, step_key="r1", **told)


def holed(*sets, **options):
    return bounds(sets, steps=HOLED, on=4, **options)


def test_two_full_sessions_cross_a_hole_of_up_to_thirty_percent():
    found = holed(full(0), full(2))
    assert found.across_hole == HOLED[2]
    assert found.allowed == HOLED[:3]


@pytest.mark.parametrize(
    "last", [{"left": 2}, {"amount": 10, "planned": 10}, {"slip": True}, {"pain": 3}]
)
def test_nothing_less_than_two_full_sessions_crosses_a_hole(last):
    assert holed(full(0), full(2, **last)).across_hole is None


def test_a_hole_is_not_crossed_on_an_ease_off_day():
    assert holed(full(0), full(2), ease_off=True).across_hole is None


def test_a_hole_of_over_thirty_percent_is_never_crossed():
    steps = ladder_of([0.9, 1.0, 1.31])
    found = bounds((full(0), full(2)), steps=steps, on=4)
    assert found.across_hole is None
    assert codes(found)[1.31] is DoseCode.ACROSS_HOLE


@pytest.mark.parametrize("aim", list(Aim))
def test_getting_up_from_the_floor_is_learned_part_by_part(aim):
    """Backward chaining: the last part first, two good sessions a part (J Am Geriatr Soc 2002)."""
    parts = ladder(client(), Family.GET_UP, catalogue())
    assert len(parts) == 6
    assert bounds((), client_of(aim), steps=parts).allowed == parts[:1]
    first = replace(squat_set(1.0), family=Family.GET_UP, step_key=parts[0].key)
    once = bounds((first,), client_of(aim), steps=parts, on=2)
    again = replace(first, on=MONDAY + timedelta(days=2))
    twice = bounds((first, again), client_of(aim), steps=parts, on=4)
    assert (once.allowed, twice.allowed) == (parts[:1], parts[:2])


@pytest.mark.parametrize("facts", [{"lives_alone": None}, {"lives_alone": True}])
def test_nobody_gets_down_to_the_floor_alone(facts):
    assert not ladder(client(**facts), Family.GET_UP, catalogue())


def test_who_cannot_get_down_alone_learns_the_last_part_only():
    offered = ladder(client(floor_ok=False), Family.GET_UP, catalogue())
    assert [step.rung for step in offered] == ["get_up_from_seat"]
