"""Whose turn it is: groups in two weeks, own aim, extra days, the coach's days, lighter weeks."""

import itertools
from dataclasses import replace
from datetime import date, timedelta

from core.client.own_aim import OwnAim, families_for
from core.client.set_week import SetWeek, WeekStart
from core.dose.history import History, SessionDone, SetDone, Unit
from core.dose.prescription import DoseCode
from core.dose.session import WHOLE_SESSION
from core.programme.balance_week import balance_week
from core.programme.day import DayWish, EarlierToday, is_beside_sink, session_of_day
from core.programme.groups import FAMILIES_OF, Group
from core.programme.lighter_week import is_lighter, next_lighter
from core.programme.turns import done_before
from core.programme.week import WhyNot, week_of
from core.readiness.morning_questions import Morning
from core.readiness.readiness import assess
from core.vocabulary import Aim, Condition, Family, WalkingAid
from tests.core.movements.people import FULL_KIT, catalogue, client
from tests.support.programme_lives import live

MONDAY = date(2026, 3, 2)


def families(day):
    return tuple(item.family for item in day.plan.prescriptions)


def session(someone, history, on, **wish):
    usual = [Morning(on - timedelta(days=back), 4, 4, 4, 4, 4) for back in range(20, 0, -1)]
    readiness = assess(usual, Morning(on, 4, 4, 4, 4, 4), someone, on=on)
    return session_of_day(someone, history, readiness, catalogue(), on, DayWish(**wish))


def test_the_first_session_is_the_six_and_the_second_brings_trunk_and_side_of_the_hip():
    long = list(live(client(session_minutes=40), catalogue(), MONDAY, weeks=1))
    assert families(long[0]) == WHOLE_SESSION
    first, second = list(live(client(), catalogue(), MONDAY, weeks=1))[:2]
    assert set(families(first)) <= set(WHOLE_SESSION)
    less = next(iter(live(client(session_minutes=23), catalogue(), MONDAY, weeks=1)))
    assert {one.reason.code for one in less.plan.left_out} == {DoseCode.KEPT_TO_TIME}
    assert {Family.BRACE, Family.SIDE_LIFT, Family.BALANCE} <= set(families(second))
    assert first.plan.minutes <= 25
    assert second.plan.minutes <= 25


def test_three_days_a_week_give_each_group_about_two_of_them_and_balance_all():
    """WHO 2020: all major muscle groups on two days a week, balance on three."""
    days = list(live(client(session_minutes=0), catalogue(), MONDAY, weeks=4))
    done = [set(families(day)) for day in days]
    fewer = {Group.BALANCE: 12, Group.CARRY: 2, Group.GET_UP: 2}
    for group, of_group in FAMILIES_OF.items():
        least = fewer.get(group, 7)
        assert sum(bool(set(of_group) & one) for one in done) >= least, group


def test_who_wants_to_climb_stairs_steps_more_often_than_she_squats():
    someone = client(wished_families=families_for(OwnAim.STAIRS))
    done = [families(day) for day in live(someone, catalogue(), MONDAY, weeks=4)]
    steps, squats = (sum(one in day for day in done) for one in (Family.STEP, Family.SQUAT))
    assert steps > squats > 0
    assert Family.STEP in done[0]


def test_every_family_of_a_group_comes_round_within_two_weeks_after_the_first_sessions():
    days = list(live(client(session_minutes=0), catalogue(), MONDAY, weeks=6))
    last = [day for day in days if day.on >= MONDAY + timedelta(weeks=4)]
    done = {family for day in last for family in families(day)}
    assert {Family.SQUAT, Family.STEP, Family.LUNGE, Family.HINGE, Family.BRIDGE} <= done


def test_an_extra_day_does_not_empty_the_next():
    someone = client()
    history = list(live(someone, catalogue(), MONDAY, weeks=1))[1].before
    tuesday, wednesday = (MONDAY + timedelta(days=ahead) for ahead in (1, 2))
    done = {one.family for one in history.sets} - {Family.BALANCE}
    extra = session(someone, history, tuesday)
    assert not done & {one.family for one in extra.prescriptions}
    sets = tuple(item.done(tuesday, item.amount, 3) for item in extra.prescriptions)
    after = replace(history, sets=(*history.sets, *sets))
    next_day = {one.family for one in session(someone, after, wednesday).prescriptions}
    assert {Family.SQUAT, Family.PUSH, Family.PULL} <= next_day


def test_who_fell_and_trains_twice_a_week_has_balance_each_time():
    someone = client(training_days=(2, 5), falls=1, lives_alone=True)
    assert all(Family.BALANCE in families(day) for day in live(someone, catalogue(), MONDAY, 3))


def test_rising_or_climbing_has_a_place_in_each_session_that_is_not_short():
    knee = set(FAMILIES_OF[Group.KNEE])
    for someone in (client(training_days=(1, 4), session_minutes=25), client()):
        for day in live(someone, catalogue(), MONDAY, weeks=3):
            assert knee & set(families(day)), day.on


def test_the_coachs_day_keeps_her_order_and_what_a_limit_leaves_out_is_named():
    order = (Family.PULL, Family.OVERHEAD, Family.SQUAT)
    someone = client(week=SetWeek(days={1: order}))
    someone = replace(someone, limits=replace(someone.limits, overhead_allowed=False))
    plan = session(someone, History(), MONDAY)
    assert [one.family for one in plan.prescriptions] == [Family.PULL, Family.SQUAT]
    week = week_of(someone, History(), catalogue(), MONDAY)
    assert week.days[0].by_coach
    assert week.days[0].ruled_out == (Family.OVERHEAD,)
    assert not week.days[1].by_coach


def test_the_coachs_number_of_sets_counts_as_far_as_the_record_allows():
    """Fewer at once; more by one over what was done last; while new or eased none more."""
    someone = client(session_minutes=0)
    days = list(live(someone, catalogue(), MONDAY, weeks=4))
    history, on = days[-1].before, days[-1].on

    def sets(before=history, **of):
        day = {Family(one): number for one, number in of.items()}
        week = SetWeek(days={on.isoweekday(): tuple(day)}, sets={on.isoweekday(): day})
        plan = session(replace(someone, week=week), before, on)
        assert DoseCode.DAY_BY_COACH in {one.code for one in plan.reasons}
        return [one.sets for one in plan.prescriptions]

    assert sets(push=1, pull=1) == [1, 1]
    last = [one for one in history.of_family(Family.PUSH) if one.on < on]
    done = sum(one.on == last[-1].on for one in last)
    assert sets(push=3) == [min(3, done + 1)]
    assert sets(History(), push=3, pull=3) == [1, 1]


def test_a_missing_band_and_a_rule_are_named_as_what_leaves_a_group_out():
    bare = client(kit=replace(FULL_KIT, band=None, bottle=None, table=None), floor_ok=False)
    someone = replace(bare, conditions=frozenset({Condition.NERVE_LOSS}))
    why = {one.group: one.why for one in week_of(someone, History(), catalogue(), MONDAY).left_out}
    assert why.get(Group.PULL, WhyNot.NO_KIT) is WhyNot.NO_KIT
    one_day = client(training_days=(3,), session_minutes=15)
    missed = week_of(one_day, History(), catalogue(), MONDAY).left_out
    assert {one.why for one in missed} == {WhyNot.NO_TIME}


def test_getting_up_from_the_floor_is_for_who_wants_it_and_has_somebody_there():
    def why(someone):
        left_out = week_of(someone, History(), catalogue(), MONDAY).left_out
        return {one.group: one.why for one in left_out}.get(Group.GET_UP)

    assert why(client(session_minutes=0)) is None
    assert why(client(session_minutes=0, floor_ok=False)) is WhyNot.NO_FLOOR
    for alone in (True, None):
        assert why(client(session_minutes=0, lives_alone=alone)) is WhyNot.NOBODY_THERE
    floor = client(session_minutes=0, floor_ok=False)
    done = {one for day in live(floor, catalogue(), MONDAY, weeks=4) for one in families(day)}
    assert Family.GET_UP not in done
    assert Family.CARRY in done


def test_seated_and_gentle_weeks_stay_so():
    seated = next(live(client(week=SetWeek(WeekStart.SEATED)), catalogue(), MONDAY, weeks=1))
    stances = {catalogue().by_id[one.step.rung].stance for one in seated.plan.prescriptions}
    assert stances <= {"sit", "front_sit"}
    assert len(seated.plan.prescriptions) >= 3
    gentle = client(week=SetWeek(WeekStart.GENTLE), session_minutes=0)
    for day in live(gentle, catalogue(), MONDAY, weeks=6):
        assert len(day.plan.prescriptions) <= 4
        for one in day.plan.prescriptions:
            assert one.sets == (4 if one.family is Family.BALANCE else 1)


def test_where_all_was_hard_yesterday_the_day_is_empty_and_says_why():
    others = {rung.id for rung in catalogue().by_id.values() if rung.family is not Family.SQUAT}
    someone = client()
    someone = replace(someone, limits=replace(someone.limits, forbidden=frozenset(others)))
    first = session(someone, History(), MONDAY)
    sets = tuple(item.done(MONDAY, item.amount, 3) for item in first.prescriptions)
    tuesday = session(someone, History(sets=sets), MONDAY + timedelta(days=1))
    assert not tuesday.prescriptions
    assert [one.reason.code for one in tuesday.left_out] == [DoseCode.HARD_YESTERDAY]


def test_a_second_session_is_balance_and_a_broken_off_one_goes_on_with_the_rest():
    someone = client()
    whole = session(someone, History(), MONDAY)
    sets = tuple(item.done(MONDAY, item.amount, 3) for item in whole.prescriptions[:2])
    half = History(sets=sets)
    rest = session(someone, half, MONDAY, earlier=EarlierToday.BROKEN_OFF)
    assert [one.family for one in rest.prescriptions] == list(WHOLE_SESSION[2:])
    second = session(someone, half, MONDAY, earlier=EarlierToday.WHOLE)
    assert [one.family for one in second.prescriptions] == [Family.BALANCE]
    assert DoseCode.TRAINED_TODAY in {reason.code for reason in second.reasons}


def test_fifteen_minutes_hold_other_movements_on_other_days():
    days = list(live(client(session_minutes=15), catalogue(), MONDAY, weeks=1))
    done = [set(families(day)) for day in days]
    assert all(len(one) >= 2 for one in done)
    assert not done[0] & done[1] - {Family.BALANCE}
    assert all(Family.BALANCE in one for one in done)


def test_every_fifth_week_halves_the_sets_and_takes_no_step_up():
    days = list(live(client(session_minutes=0), catalogue(), MONDAY, weeks=10))
    lighter = [day for day in days if is_lighter(day.before, day.on)]
    assert {(day.on - MONDAY).days // 7 for day in lighter} == {4, 9}

    def work(week):
        these = [day for day in days if (day.on - MONDAY).days // 7 == week]
        return sum(one.sets * one.amount for day in these for one in day.plan.prescriptions)

    assert work(4) < 0.9 * work(3)
    assert work(9) < 0.75 * work(8)
    for day in lighter:
        for one in day.plan.prescriptions:
            done = [s.demand for s in day.before.of_family(one.family)]
            assert not done or one.step.demand <= max(done) * (1 + 1e-9)


def test_two_hard_weeks_bring_the_lighter_one_sooner_and_a_week_off_begins_anew():
    hard = tuple(SessionDone(MONDAY + timedelta(days=day), effort=9) for day in (0, 2, 7, 9))
    days = list(live(client(), catalogue(), MONDAY, weeks=3))
    history = replace(days[-1].before, sessions=hard)
    assert next_lighter(history, MONDAY + timedelta(days=14)) == MONDAY + timedelta(days=14)
    later = MONDAY + timedelta(weeks=5)
    assert next_lighter(days[-1].before, later) == later + timedelta(weeks=4)


def test_a_session_of_25_minutes_holds_balance_for_some_minutes_and_three_other_movements():
    """Five to ten minutes of balance a session at first, with the rests, for whoever needs it."""
    steady = client(birth_year=1966, falls=0, walking_aid=WalkingAid.NONE, fears_falling=False)
    frail = client(birth_year=1944, falls=1, lives_alone=True)
    for someone, least in ((steady, 3.5), (frail, 5), (replace(steady, birth_year=1961), 5)):
        for day in live(someone, catalogue(), MONDAY, weeks=3):
            (hold,) = (one for one in day.plan.prescriptions if one.family is Family.BALANCE)
            sides = 2 if catalogue().by_id[hold.step.rung].each_side else 1
            assert least <= hold.sets * (hold.amount * sides + 60) / 60 <= 10
            assert len(day.plan.prescriptions) >= 4
            assert day.plan.minutes <= 25


def test_balance_may_be_held_the_day_after_and_does_not_use_up_the_first_sessions():
    someone = client()
    tuesday = MONDAY + timedelta(days=1)
    whole = session(someone, History(), MONDAY)
    hold = next(one for one in whole.prescriptions if one.family is Family.BALANCE)
    sets = tuple(
        hold.done(MONDAY - timedelta(days=back), hold.amount, None) for back in range(9, -1, -1)
    )
    plan = session(someone, History(sets=sets), tuesday)
    assert Family.BALANCE in {one.family for one in plan.prescriptions}
    squat = SetDone(MONDAY, Family.SQUAT, "squat_to_chair", 1.0, Unit.REPS, 8, 3)
    history = History(sets=(*sets, squat))
    assert history.days_worked() == (MONDAY,)
    assert done_before(history, tuesday).sessions == 1


def test_balance_beside_the_sink_is_five_to_ten_minutes_of_todays_hold_without_a_warm_up():
    tuesday = MONDAY + timedelta(days=1)
    for someone in (client(), client(conditions=frozenset({Condition.HEART_FAILURE}))):
        whole = session(someone, History(), MONDAY)
        sets = tuple(item.done(MONDAY, item.amount, 3) for item in whole.prescriptions)
        plan = session(someone, History(sets=sets), tuesday, beside_sink=True)
        assert [one.family for one in plan.prescriptions] == [Family.BALANCE]
        assert 5 <= plan.minutes <= 10
        assert plan.warm_up_minutes == plan.cool_down_minutes == 0
        assert is_beside_sink(plan)
        assert not is_beside_sink(whole)
    long_hold = client(aim=Aim.ENDURANCE, session_minutes=0, lives_alone=False)
    for day in live(long_hold, catalogue(), MONDAY, weeks=5):
        at_sink = session(long_hold, day.before, day.on, beside_sink=True)
        assert at_sink.minutes <= 10
    lightest = session(client(), History(), MONDAY, beside_sink=True, lightest=True)
    assert [one.sets for one in lightest.prescriptions] == [1]


def test_at_the_top_of_a_ladder_two_rungs_take_turns():
    """Variety where no step is left, not before; the top is never lost by it."""
    limit = client(session_minutes=0, week=SetWeek(days={1: (Family.OVERHEAD,)}))
    under = replace(limit.limits, overhead_allowed=True, ceilings={Family.OVERHEAD: 0.36})
    lived = live(replace(limit, limits=under), catalogue(), MONDAY, weeks=12)
    found = [one for day in lived for one in day.plan.prescriptions]
    shown = [one for one in found if one.family is Family.OVERHEAD]
    rungs = [one.step.rung for one in shown]
    turns = [place for place, one in enumerate(shown) if one.reasons[0].code is DoseCode.IN_TURN]
    assert turns, rungs
    top = max(one.step.demand for one in shown[: turns[0]])
    for place in turns:
        assert rungs[place] != rungs[place - 1]
        assert shown[place].step.demand < top * (1 + 1e-9)
        later = [one.step.demand for one in shown[place + 1 : place + 3]]
        assert not later or max(later) >= top * (1 - 1e-9)


def test_in_full_sessions_getting_up_still_comes_within_two_weeks():
    """The knee leads each session; what is wanted once in two weeks must not wait for it."""
    someone = client(training_days=(1, 3, 5), session_minutes=25, lives_alone=False)
    days = [d.on for d in live(someone, catalogue(), MONDAY, 6) if Family.GET_UP in families(d)]
    assert len(days) >= 3
    gaps = [(later - before).days for before, later in itertools.pairwise(days)]
    assert max(gaps) <= 14


def test_what_comes_less_than_twice_a_week_is_named_beside_what_is_left_out():
    """WHO 2020 asks for each major group on two days; two short sessions cannot hold that."""
    frail = client(training_days=(1, 4), session_minutes=25, birth_year=1944, falls=1)
    week = week_of(frail, History(), catalogue(), MONDAY)
    seldom = dict(week.seldom)
    for group in (Group.PUSH, Group.PULL, Group.HIP, Group.CALF, Group.TRUNK, Group.HIP_SIDE):
        days = [one for one in week.days if set(FAMILIES_OF[group]) & set(one.families)]
        assert seldom.get(group, 4) == min(len(days), 4)
    assert seldom, "four short days hold no more"
    assert not {Group.KNEE, Group.BALANCE, Group.CARRY} & seldom.keys()
    daily = client(training_days=(1, 2, 3, 4, 5, 6, 7), session_minutes=0)
    assert not week_of(daily, History(), catalogue(), MONDAY).seldom


def test_a_week_of_balance_is_counted_with_its_rests_against_two_hours():
    """Two hours or more a week: Sherrington 2011."""
    hold = SetDone(MONDAY, Family.BALANCE, "balance_apart", 1.0, Unit.SECONDS, 30, None, planned=30)
    held = [replace(hold, on=MONDAY - timedelta(days=back)) for back in (0, 0, 0, 2, 2, 6, 7)]
    frail = client(falls=1)
    told = balance_week(frail, History(sets=tuple(held)), catalogue(), MONDAY)
    assert (told.minutes, told.days, told.wanted) == (9, 3, 120)
    alike = History(sets=(replace(hold, sets=3), *held[3:]))
    assert balance_week(frail, alike, catalogue(), MONDAY) == told
    steady = client(birth_year=1966, falls=0, walking_aid=WalkingAid.NONE, fears_falling=False)
    assert balance_week(steady, History(), catalogue(), MONDAY).wanted is None
