"""Quick stands: once a week, after four weeks of technique, for nobody who may fall by them."""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from core.client.operations import DayOrPart, Joint, Operation
from core.client.set_week import SetWeek
from core.dose.history import History, SessionDone, SetDone, Unit
from core.dose.prescription import DoseCode
from core.movements.ladder import ladder
from core.programme.day import DayWish, session_of_day
from core.readiness.morning_questions import Morning
from core.readiness.readiness import assess
from core.vocabulary import Aim, Condition, Family, Medicine, WalkingAid
from tests.core.movements.people import catalogue, client

MONDAY = date(2026, 3, 2)
LATER = MONDAY + timedelta(weeks=5)
OTHERS = {one.id for one in catalogue().by_id.values() if one.family is not Family.BALANCE} - {
    "squat_to_chair"
}
PLAIN = client(session_minutes=0, aim=Aim.STRENGTH, week=SetWeek(days={1: (Family.SQUAT,)}))
STEADY = replace(
    PLAIN,
    falls=0,
    walking_aid=WalkingAid.NONE,
    limits=replace(PLAIN.limits, forbidden=frozenset(OTHERS)),
)
"""Her coach lets her stand up from the chair, and nothing else, so that all hangs on the rule."""


def practised(weeks: int = 5, **last: object) -> History:
    """Clean stands three days a week up to the week of ``LATER``."""
    days = [
        LATER - timedelta(weeks=back, days=-day)
        for back in range(weeks, 0, -1)
        for day in (0, 2, 4)
    ]
    steps = ladder(STEADY, Family.SQUAT, catalogue(), LATER)
    step = next(one for one in steps if one.rung == "squat_to_chair")
    sets = [SetDone(day, Family.SQUAT, step.key, step.demand, Unit.REPS, 10, 3) for day in days]
    sets[-1] = replace(sets[-1], **last)
    return History(tuple(sets), tuple(SessionDone(day, 4, 25) for day in days))


def planned(someone=STEADY, history: History | None = None, on: date = LATER, **wish: bool):
    """The stands of a day."""
    usual = [Morning(on - timedelta(days=back), 4, 4, 4, 4, 4) for back in range(20, 0, -1)]
    ready = assess(usual, Morning(on, 4, 4, 4, 4, 4), someone, on=on)
    history = practised() if history is None else history
    plan = session_of_day(someone, history, ready, catalogue(), on, DayWish(**wish))
    return [one for one in plan.prescriptions if one.family is Family.SQUAT]


def quick(*given, **more) -> bool:
    """Whether the stands of a day are quick."""
    return any(one.reasons[0].code is DoseCode.QUICK_RISE for one in planned(*given, **more))


def test_the_first_stands_of_a_week_are_quick_six_to_eight_once_or_twice():
    assert quick()
    (item,) = planned()
    assert item.amount <= 8
    assert item.sets <= 2
    every_day = replace(STEADY, week=SetWeek(days=dict.fromkeys(range(1, 8), (Family.SQUAT,))))
    again = replace(practised(), sets=(*practised().sets, item.done(LATER, item.amount, 3)))
    assert not quick(history=again, on=LATER + timedelta(days=2), someone=every_day)


def test_whoever_squats_harder_than_from_a_chair_has_quick_stands_all_the_same():
    """In place of the harder ones, however far above: these go on afterwards where they were."""
    strong = replace(STEADY, limits=PLAIN.limits)
    steps = ladder(strong, Family.SQUAT, catalogue(), LATER)
    hard = next(s for s in steps if s.rung == "squat_staggered")
    sets = [replace(one, step_key=hard.key, demand=hard.demand) for one in practised().sets]
    history = replace(practised(), sets=tuple(sets))
    (item,) = planned(strong, history)
    assert item.reasons[0].code is DoseCode.QUICK_RISE
    assert item.step.rung in {"squat_to_chair", "squat_touch_chair"}
    assert item.step.demand < hard.demand
    assert item.amount <= 8
    again = replace(history, sets=(*sets, item.done(LATER, item.amount, 5)))
    every_day = replace(strong, week=SetWeek(days=dict.fromkeys(range(1, 8), (Family.SQUAT,))))
    (later,) = planned(every_day, again, LATER + timedelta(days=2))
    assert later.reasons[0].code is not DoseCode.QUICK_RISE
    assert later.step.demand >= hard.demand
    weeks_later = LATER + timedelta(days=7)
    assert not quick(strong, again, weeks_later), "strength has its days"
    slow = replace(again, sets=(*sets, replace(item.done(LATER, item.amount, 5), slip=True)))
    (careful,) = planned(every_day, slow, LATER + timedelta(days=2))
    assert careful.step.demand < item.step.demand, "a slip in quick stands leads down all the same"
    picked = replace(strong, limits=replace(strong.limits, fixed={Family.SQUAT: "squat_free"}))
    assert not quick(picked, history)


@pytest.mark.parametrize("history", [practised(weeks=3), practised(slip=True), practised(pain=4)])
def test_not_before_four_weeks_nor_after_a_slip_or_a_pain(history: History):
    assert not quick(history=history)


@pytest.mark.parametrize(
    "facts",
    [
        {"conditions": frozenset({Condition.SPINE_FRACTURE})},
        {"conditions": frozenset({Condition.PRESSURE})},
        {"conditions": frozenset({Condition.HEART_FAILURE})},
        {"conditions": frozenset({Condition.VERTIGO})},
        {"medicines": frozenset({Medicine.ALPHA_BLOCKER})},
        {"falls": 1},
        {"falls": None},
        {"walking_aid": WalkingAid.STICK},
        {"operations": (Operation(joint=Joint.KNEE, on=DayOrPart(2026, 3, 1)),)},
    ],
)
def test_whoever_may_fall_or_faint_by_it_stays_slow(facts: dict):
    assert not quick(replace(STEADY, **facts))


@pytest.mark.parametrize("wish", [{"dizzy": True}, {"lightest": True}, {"away": True}])
def test_a_day_on_which_it_is_no_time_for_it(wish: dict):
    assert not quick(**wish)
