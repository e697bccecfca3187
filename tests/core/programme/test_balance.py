"""Balance: begins by the test, goes on one factor at a time, falls back after a break."""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from bot.reference.catalogue import load_catalogue
from core.client.client import Client, KitAtHome
from core.client.home_tests import HomeTest
from core.dose.history import History, SetDone, Unit
from core.dose.home_test_word import HomeTestDone
from core.dose.prescription import DoseCode, Prescription, SessionPlan
from core.dose.session import Today, plan_session, today_of
from core.programme.balance import (
    BACKWARD,
    HOLDS,
    HOLDS_OF_NEED,
    allowed_steps,
    balance_today,
    hand_of,
    harder_factors,
    harder_hold,
    stance_of,
    with_balance,
)
from core.readiness.morning_questions import Morning
from core.readiness.readiness import assess
from core.vocabulary import Condition, Family, WalkingAid
from tests.support.generated_clients import generated_client

MONDAY = date(2026, 3, 2)
CATALOGUE = load_catalogue()
STEADY = Client(
    "Ada", falls=0, walking_aid=WalkingAid.NONE, lives_alone=False, kit=KitAtHome(bench=90)
)


def planned(
    client: Client, history: History | None = None
) -> tuple[Today, SessionPlan, Prescription]:
    """What the rules know on Monday, the dose's session, and its hold."""
    history = history or History()
    past = [Morning(MONDAY - timedelta(days=day), 4, 4, 4, 4, 4) for day in range(20, -1, -1)]
    ready = assess(past[:-1], past[-1], client, on=MONDAY)
    today = today_of(client, history, ready, CATALOGUE, MONDAY)
    plan = plan_session(client, history, ready, CATALOGUE, MONDAY)
    hold = next(one for one in plan.prescriptions if one.family is Family.BALANCE)
    return today, plan, hold


def held(key: str, days_ago: int, *, client: Client = STEADY, amount: int = 30) -> SetDone:
    """A clean hold of a step of the client's ladder."""
    today, _, _ = planned(client)
    step = next(one for one in today.painless_steps(Family.BALANCE) if one.key == key)
    return SetDone(
        on=MONDAY - timedelta(days=days_ago),
        family=Family.BALANCE,
        step_key=key,
        demand=step.demand,
        unit=Unit.SECONDS,
        amount=amount,
        left=None,
        planned=amount,
    )


def one_leg(seconds: float, days_ago: int = 1) -> HomeTestDone:
    return HomeTestDone(HomeTest.ONE_LEG_STAND, MONDAY - timedelta(days=days_ago), seconds)


def test_without_a_test_it_begins_at_the_easiest_hold():
    today, _, hold = planned(STEADY)
    chosen = balance_today(today, hold, [])
    assert chosen.step == allowed_steps(today)[0]
    assert chosen.step.dial["support"] == "firm_hand"


@pytest.mark.parametrize(
    ("seconds", "rungs", "hand"),
    [
        (3, {"balance_half_step"}, "one_hand"),
        (7, {"balance_half_step", "balance_heel_to_toe"}, "fingertips"),
        (15, {"balance_heel_to_toe"}, "none"),
        (28, {"balance_one_leg"}, "fingertips"),
    ],
)
def test_it_begins_where_the_one_leg_stand_says(seconds: float, rungs: set[str], hand: str):
    today, _, hold = planned(STEADY)
    step = balance_today(today, hold, [one_leg(40, days_ago=90), one_leg(seconds)]).step
    assert step.rung in rungs
    assert step.dial.get("support", "none") == hand


def test_whoever_may_be_alone_stands_free_and_narrow_only_after_a_long_hold_with_a_hand():
    alone = replace(STEADY, lives_alone=None)
    today, _, hold = planned(alone)
    step = balance_today(today, hold, [one_leg(15)]).step
    assert stance_of(step) < 3 or hand_of(step) > 0
    assert all(stance_of(one) < 3 or hand_of(one) > 0 for one in allowed_steps(today))
    long_hold = held("balance_one_leg@support=fingertips", 2, client=alone)
    today, _, _ = planned(alone, History(sets=(long_hold, replace(long_hold, on=MONDAY))))
    assert all(one.rung == "balance_one_leg" for one in _free_and_narrow(today))


def _free_and_narrow(today: Today) -> list:
    return [one for one in allowed_steps(today) if stance_of(one) > 2 and not hand_of(one)]


@pytest.mark.parametrize(
    "facts",
    [
        {"falls": 1},
        {"walking_aid": WalkingAid.STICK},
        {"conditions": frozenset({Condition.PARKINSON})},
        {"conditions": frozenset({Condition.STROKE})},
        {"conditions": frozenset({Condition.NERVE_LOSS})},
        {"conditions": frozenset({Condition.DEMENTIA})},
        {"conditions": frozenset({Condition.VERTIGO})},
    ],
)
def test_a_strong_test_gives_nobody_a_free_narrow_stance_who_needs_a_rail(facts: dict):
    client = replace(STEADY, **facts)
    today, _, hold = planned(client)
    step = balance_today(today, hold, [one_leg(40)]).step
    assert stance_of(step) <= 2 or hand_of(step) > 0
    assert not _free_and_narrow(today)


@pytest.mark.parametrize(
    ("days", "stance", "free"),
    [(3, 3, True), (15, 3, False), (30, 2, False), (60, 0, False)],
)
def test_after_a_break_the_hand_goes_on_then_the_stance_down_then_it_begins_anew(
    days: int, stance: int, free: bool
):
    sets = (held("balance_heel_to_toe", days),)
    today, _, hold = planned(STEADY, History(sets=sets))
    step = balance_today(today, hold, [one_leg(15, days_ago=120)]).step
    assert stance_of(step) <= stance
    assert (hand_of(step) == 0) is free
    if not free:
        assert step.demand < sets[0].demand


def test_a_newer_test_says_where_to_begin_anew_but_never_above_what_was_done():
    history = History(sets=(held("balance_one_leg@support=fingertips", 70),))
    today, _, hold = planned(STEADY, history)
    assert stance_of(balance_today(today, hold, [one_leg(28)]).step) == 4
    assert stance_of(balance_today(today, hold, [one_leg(3)]).step) == 2
    today, _, hold = planned(STEADY, History(sets=(held("balance_together", 70),)))
    assert balance_today(today, hold, [one_leg(28)]).step.demand <= hold.step.demand


def test_a_step_up_makes_one_factor_harder_at_most():
    today, _, _ = planned(STEADY)
    for step in today.painless_steps(Family.BALANCE):
        if stance_of(step) > 4 or not step.demand:
            continue
        sets = (held(step.key, 4), held(step.key, 4), held(step.key, 2))
        later, _, hold = planned(STEADY, History(sets=sets))
        chosen = balance_today(later, hold, []).step
        assert harder_factors(chosen, step) <= 1, (step.key, chosen.key)


def test_two_full_holds_lead_over_a_hole_in_the_ladder_by_one_factor():
    """From one leg with fingertips the next asks a fifth more; the dose would stay for good."""
    key = "balance_one_leg@support=fingertips"
    for held_for, goes_on in ((30, True), (20, False)):
        sets = (held(key, 5, amount=held_for), held(key, 3, amount=held_for))
        today, _, hold = planned(STEADY, History(sets=sets))
        chosen = balance_today(today, hold, [one_leg(28)])
        assert (chosen.step.demand > sets[0].demand) is goes_on
        assert harder_factors(chosen.step, hold.step) <= 1
        assert chosen.step in allowed_steps(today)
    slipped = (held(key, 5), replace(held(key, 3), slip=True))
    today, _, hold = planned(STEADY, History(sets=slipped))
    assert balance_today(today, hold, []).step.demand < sets[0].demand


def test_harder_is_one_step_the_first_time_and_never_too_little_in_hand():
    today, _, hold = planned(STEADY)
    begun = balance_today(today, hold, [])
    once = harder_hold(today, begun, [])
    assert once.reason.code is DoseCode.MADE_HARDER
    assert once.prescription.step.demand > begun.step.demand
    twice = harder_hold(today, once.prescription, [])
    assert twice.reason.code is DoseCode.STEADY_FIRST
    assert twice.prescription == once.prescription


def test_after_a_hold_of_training_it_is_the_easiest_and_harder_waits():
    today, _, _ = planned(STEADY)
    today = replace(today, lightest=True)
    hold = planned(STEADY)[2]
    chosen = balance_today(today, hold, [one_leg(40)])
    assert (chosen.step, chosen.sets) == (allowed_steps(today)[0], 1)
    assert harder_hold(today, chosen, []).reason.code is DoseCode.NOT_HARDER_TODAY


def test_three_holds_a_session_from_the_first_on_but_never_over_the_time():
    today, plan, _ = planned(replace(STEADY, birth_year=1966))
    more = with_balance(plan, today, [])
    assert _hold(more).sets == HOLDS
    assert plan.minutes < more.minutes <= plan.minutes + 8
    kept = with_balance(plan, today, [], most_minutes=plan.minutes)
    assert (_hold(kept).sets, kept.minutes) == (_hold(plan).sets, plan.minutes)


@pytest.mark.parametrize(
    "facts",
    [{"birth_year": 1961}, {"falls": 1}, {"walking_aid": WalkingAid.STICK}, {"falls": None}],
)
def test_who_needs_balance_holds_five_minutes_of_it(facts: dict[str, object]):
    client = replace(STEADY, **{"birth_year": 1966, **facts})
    today, plan, _ = planned(client)
    hold = _hold(with_balance(plan, today, []))
    assert hold.sets >= HOLDS_OF_NEED
    assert hold.sets * (hold.amount + 60) / 60 >= 5
    kept = with_balance(plan, today, [], most_minutes=plan.minutes)
    assert _hold(kept).sets == _hold(plan).sets
    eased = replace(today, order=replace(today.order, ease_off=True))
    assert _hold(with_balance(plan, eased, [])).sets == _hold(plan).sets


@pytest.mark.parametrize("number", range(30))
def test_whoever_it_is_the_hold_is_one_that_may_be_held(number: int):
    """Invented clients of all sorts, with the best of tests: no rule of the dose is overruled."""
    client = generated_client(number)
    past = [Morning(MONDAY - timedelta(days=day), 4, 4, 4, 4, 4) for day in range(20, -1, -1)]
    ready = assess(past[:-1], past[-1], client, on=MONDAY)
    today = today_of(client, History(), ready, CATALOGUE, MONDAY)
    plan = plan_session(client, History(), ready, CATALOGUE, MONDAY, [Family.BALANCE])
    for hold in with_balance(plan, today, [one_leg(40)]).prescriptions:
        assert hold.step in allowed_steps(today) or hold == plan.prescriptions[0]
        assert hold.step in today.painless_steps(Family.BALANCE)
        harder = harder_hold(today, hold, [one_leg(40)]).prescription
        assert harder.step in (*allowed_steps(today), hold.step)
        assert harder_factors(harder.step, hold.step) <= 1


def _hold(plan: SessionPlan) -> Prescription:
    return next(one for one in plan.prescriptions if one.family is Family.BALANCE)


def test_at_the_top_steps_and_a_task_take_turns_with_the_hold():
    """Moving: side, back; a task while standing (common practice); then the hold comes back."""
    railed = replace(STEADY, falls=1, walking_aid=WalkingAid.STICK, lives_alone=True)
    today, _, _ = planned(railed)
    top = allowed_steps(today)[-1]
    sets = [held(top.key, days, client=railed) for days in (8, 6, 4)]
    today, _, hold = planned(railed, History(sets=tuple(sets)))
    other = balance_today(today, hold, [])
    assert other.step.rung in {"balance_side_steps", "balance_half_step_task"}
    assert hand_of(other.step) > 0
    sets.append(other.done(MONDAY - timedelta(days=2), other.amount, None))
    today, _, hold = planned(railed, History(sets=tuple(sets)))
    again = balance_today(today, hold, [])
    assert again.step.key == top.key
    assert again.amount == sets[0].amount
    slipped = (*sets[:-1], replace(sets[-1], slip=True))
    today, _, hold = planned(railed, History(sets=slipped))
    assert balance_today(today, hold, []).step.demand < top.demand


def test_steps_back_need_somebody_there_and_parkinson_no_task_and_no_steps_back():
    """One thing at a time with Parkinson, no steps back (from memory: no clinician has signed)."""
    there = {step.rung for step in planned(STEADY)[0].steps(Family.BALANCE)}
    assert {"balance_back_steps", "balance_half_step_task"} <= there
    below = next(s for s in planned(STEADY)[0].steps(Family.BALANCE) if s.rung in BACKWARD)
    for alone in (True, None, False):
        someone = replace(STEADY, lives_alone=alone)
        sets = tuple(held("balance_half_step_task", days, client=someone) for days in (4, 2))
        today, _, _ = planned(someone, History(sets=sets))
        may = any(step.key == below.key for step in allowed_steps(today))
        assert may is (alone is False)
    ill = replace(STEADY, conditions=frozenset({Condition.PARKINSON}))
    rungs = {step.rung for step in planned(ill)[0].steps(Family.BALANCE)}
    assert not {"balance_back_steps", "balance_half_step_task"} & rungs


@pytest.mark.parametrize(
    ("client", "top"),
    [
        (STEADY, "balance_one_leg"),
        (replace(STEADY, lives_alone=True), "balance_one_leg"),
        (
            replace(STEADY, falls=1, walking_aid=WalkingAid.STICK, lives_alone=True),
            "balance_heel_to_toe@support=one_hand",
        ),
    ],
)
def test_full_holds_lead_from_the_easiest_to_the_last_that_may_be_held(client: Client, top: str):
    """By factors, where each step by demand would change two at once: nobody stays half-way."""
    keys: list[str] = []
    sets: list[SetDone] = []
    for session in range(40):
        today, _, hold = planned(client, History(sets=tuple(sets)))
        chosen = balance_today(today, hold, [])
        earlier = [replace(one, on=one.on - timedelta(days=1)) for one in sets[-40:]]
        amount = chosen.amount
        done = chosen.done(MONDAY - timedelta(days=1), amount, None)
        if keys and chosen.step.demand > sets[-1].demand:
            before = next(s for s in today.painless_steps(Family.BALANCE) if s.key == keys[-1])
            assert harder_factors(chosen.step, before) <= 1, session
        sets = [*earlier, done, done]
        keys.append(chosen.step.key)
        if chosen.step.key == top:
            break
    assert top in keys, " ".join(dict.fromkeys(keys))
