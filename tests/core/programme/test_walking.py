"""Walks: weeks that begin where the client is, rise a little, and fall back with cause."""

from dataclasses import replace
from datetime import date, timedelta
from functools import partial
from itertools import accumulate, pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.client.care import WalkCare, WalkStyle
from core.client.client import Client
from core.programme import walking
from core.programme.walking import (
    FAR_AIM_MINUTES,
    FEWEST_MINUTES,
    SLOW_MOST_MINUTES,
    Talk,
    WalkCode,
    WalkDone,
    WalksNow,
    week_begins,
)
from core.vocabulary import Condition, Spare, WalkingAid
from tests.core.movements.people import catalogue

may_be_brisk = partial(walking.may_be_brisk, table=catalogue().steering)
walk_today = partial(walking.walk_today, table=catalogue().steering)
walk_week = partial(walking.walk_week, table=catalogue().steering)
MONDAY = date(2026, 3, 2)
STEADY = Client("Ada", falls=0, walking_aid=WalkingAid.NONE)


def weeks_of(*minutes: int, days: int = 3, talk: Talk = Talk.SENTENCES) -> list[WalkDone]:
    """Whole weeks before ``MONDAY``, the newest last: so many minutes on each of some days."""
    return [
        WalkDone(MONDAY - timedelta(weeks=len(minutes) - number, days=-day), each, talk)
        for number, each in enumerate(minutes)
        for day in range(days)
        if each
    ]


def test_a_client_who_keeps_to_it_comes_from_five_minutes_to_the_far_aim_and_stays_there():
    asked = [week.minutes for week in asked_of(STEADY, 60)]
    assert asked[0] == 15
    assert asked[-1] == FAR_AIM_MINUTES
    assert asked == sorted(asked)
    assert 12 < asked.index(FAR_AIM_MINUTES) < 40, "months, neither weeks nor years"


def test_minutes_or_days_rise_but_not_both():
    week = walk_week(STEADY, weeks_of(20), MONDAY, None)
    assert (week.days, week.each) == (4, 18)
    assert week.minutes <= 1.2 * 60


WALKS = st.lists(
    st.builds(
        WalkDone,
        on=st.integers(-70, 6).map(lambda days: MONDAY + timedelta(days=days)),
        minutes=st.integers(1, 120),
        talk=st.sampled_from(Talk),
    ),
    max_size=25,
).map(lambda walks: sorted(walks, key=lambda walk: walk.on))


@given(WALKS)
def test_no_week_asks_for_a_fifth_more_than_the_best_of_the_last_four(walks: list[WalkDone]):
    on = MONDAY + timedelta(days=3)
    week = walk_week(STEADY, walks, on, None)
    totals: dict[date, int] = {}
    for walk in walks:
        if walk.on < MONDAY:
            begins = week_begins(walk.on)
            totals[begins] = totals.get(begins, 0) + walk.minutes
    newest = sorted(totals)[-4:]
    best = max((totals[one] for one in newest), default=15)
    assert week.minutes <= max(1.2 * best, 3 * FEWEST_MINUTES, FEWEST_MINUTES * week.days)
    assert week.done == sum(walk.minutes for walk in walks if walk.on >= MONDAY)


@pytest.mark.parametrize(
    ("walks", "code", "share"),
    [
        (weeks_of(20, 20), WalkCode.RISE, 1.15),
        (weeks_of(20, 10), WalkCode.AS_BEFORE, 0.75),
        (weeks_of(20, 20, 0), WalkCode.AS_BEFORE, 1.0),
        (weeks_of(20, 20, 0, 0), WalkCode.AFTER_BREAK, 2 / 3),
        (weeks_of(20, 20, 0, 0, 0, 0), WalkCode.AFTER_BREAK, 1 / 2),
        (weeks_of(20, 20, talk=Talk.SHORT), WalkCode.LESS_BREATHLESS, 0.8),
    ],
)
def test_what_the_weeks_before_ask_of_this_one(walks: list[WalkDone], code: WalkCode, share: float):
    week = walk_week(STEADY, walks, MONDAY, None)
    assert week.code is code
    assert week.minutes == pytest.approx(60 * share, abs=4)


def asked_of(client: Client, weeks: int, now: WalksNow | None = None) -> list[walking.WalkWeek]:
    """What each week asks for of somebody who walks as asked, with breath to talk."""
    walks: list[WalkDone] = []
    found = []
    for number in range(weeks):
        on = MONDAY + timedelta(weeks=number)
        week = walk_week(client, walks, on, now)
        found.append(week)
        walks += [
            WalkDone(on + timedelta(days=day), week.each, Talk.SENTENCES)
            for day in range(week.days)
        ]
    return found


@pytest.mark.parametrize(
    "facts",
    [{"birth_year": 1944}, {"falls": 1}, {"walking_aid": WalkingAid.STICK}, {"falls": None}],
)
def test_great_age_an_aid_or_a_fall_rises_slowly_and_only_to_an_hour_and_a_half(
    facts: dict[str, object],
):
    """Ours, on the careful side: no source gives a weekly step or a ceiling for them."""
    client = Client("Ada", **{"falls": 0, "walking_aid": WalkingAid.NONE, **facts})
    weeks = asked_of(client, 52)
    minutes = [week.minutes for week in weeks]
    steady = [week.minutes for week in asked_of(STEADY, 52)]
    assert all(slow <= usual for slow, usual in zip(minutes, steady, strict=True))
    assert minutes[17] <= 70
    assert SLOW_MOST_MINUTES - 5 <= minutes[-1] <= SLOW_MOST_MINUTES == max(minutes)
    assert minutes == sorted(minutes), "it never stands still for long, and never falls"
    assert minutes.index(max(minutes)) < 40
    for before, then in pairwise(minutes):
        assert then - before <= max(0.1 * before, 5), "a minute a walk, or a tenth"
    assert weeks[-1].code is WalkCode.ENOUGH


def test_who_walks_more_than_that_already_keeps_it_but_one_long_week_asks_for_nothing():
    old = replace(STEADY, birth_year=1944)
    kept = walk_week(old, weeks_of(25, 25, 25, 25, days=5), MONDAY, None)
    assert (kept.minutes, kept.code) == (125, WalkCode.ENOUGH)
    once = walk_week(old, weeks_of(10, 10, 10, 40), MONDAY, None)
    assert once.minutes <= SLOW_MOST_MINUTES
    told = walk_week(old, [], MONDAY, WalksNow(minutes=30, days=4))
    assert told.minutes == 120


def test_it_begins_with_what_the_client_walks_now():
    week = walk_week(STEADY, [], MONDAY, WalksNow(minutes=20, days=4))
    assert (week.each, week.days, week.code) == (20, 4, WalkCode.START)


def test_a_walk_told_on_hold_counts_as_done_and_steers_nothing():
    held = WalkDone(MONDAY - timedelta(days=1), 120, Talk.SENTENCES, steers=False)
    today = WalkDone(MONDAY, 40, Talk.SENTENCES, steers=False)
    week = walk_week(STEADY, [held, today], MONDAY, None)
    assert (week.minutes, week.done) == (15, 40)


def test_after_a_hold_and_on_an_eased_day_it_is_less():
    walks = weeks_of(30, 30, days=5)
    assert walk_today(STEADY, walks, MONDAY, None).minutes == 30
    assert walk_today(STEADY, walks, MONDAY, None, ease_off=True).minutes == 20
    assert walk_today(STEADY, walks, MONDAY, None, sore=frozenset({Spare.KNEE})).minutes == 20
    lightest = walk_today(STEADY, walks, MONDAY, None, lightest=True)
    assert (lightest.minutes, lightest.brisk) == (5, 0)


@pytest.mark.parametrize(
    "facts",
    [
        {"falls": 1},
        {"falls": None},
        {"walking_aid": WalkingAid.STICK},
        {"walking_aid": None},
        {"conditions": frozenset({Condition.NERVE_LOSS})},
        {"conditions": frozenset({Condition.VERTIGO})},
        {"conditions": frozenset({Condition.HEART})},
    ],
)
def test_no_brisk_minute_where_falls_are_likely_or_not_known(facts: dict[str, object]):
    client = Client("Ada", **{"falls": 0, "walking_aid": WalkingAid.NONE, **facts})
    walks = weeks_of(*[30] * 8, days=5)
    assert walk_today(STEADY, walks, MONDAY, None).brisk == 4
    assert walk_today(STEADY, walks, MONDAY, None, dizzy=True).brisk == 0
    assert not may_be_brisk(client, dizzy=False)
    assert walk_today(client, walks, MONDAY, None).brisk == 0


def test_leg_arteries_walk_and_rest_on_three_days_up_to_45_minutes():
    client = Client("Ada", conditions=frozenset({Condition.LEG_ARTERIES}))
    today = walk_today(client, weeks_of(60), MONDAY, None)
    assert (today.style, today.week.days, today.minutes) == (WalkStyle.WALK_AND_REST, 3, 45)
    assert today.watch_after == timedelta(minutes=45 + 9 * 5 + 10)


def test_lungs_stop_to_lean_and_first_walk_longer_then_stop_shorter():
    client = Client("Ada", conditions=frozenset({Condition.LUNG}))
    stops = [
        (today.walk_minutes, today.stop_minutes)
        for minutes in (6, 12, 24, 36)
        if (today := walk_today(client, weeks_of(minutes, days=5), MONDAY, None))
    ]
    assert stops == [(1, 2), (2, 2), (3, 2), (3, 1)]


def test_an_aid_or_a_fall_walks_laps_indoors_in_short_bouts():
    client = Client("Ada", falls=1, walking_aid=WalkingAid.STICK)
    today = walk_today(client, weeks_of(12), MONDAY, None)
    assert today.style is WalkStyle.INDOOR_LAPS
    assert max(today.bouts) <= 5
    assert sum(today.bouts) == today.minutes


def test_numb_feet_are_looked_at_and_a_wheelchair_has_no_walk():
    numb = Client("Ada", conditions=frozenset({Condition.NERVE_LOSS}))
    assert WalkCare.FEET in walk_today(numb, [], MONDAY, None).cares
    seated = Client("Ada", walking_aid=WalkingAid.WHEELCHAIR)
    assert walk_today(seated, [], MONDAY, None) is None


def test_who_walks_on_four_days_gets_longer_walks_and_not_a_day_that_is_never_taken():
    """Eight weeks on the days without a session; never a fifth over the most so far."""
    walks: list[WalkDone] = []
    asked = []
    for week in range(8):
        monday = MONDAY + timedelta(weeks=week)
        plan = walk_week(STEADY, walks, monday, WalksNow(25, 3))
        asked.append(plan.each * 4)
        walks += [
            WalkDone(monday + timedelta(days=day), plan.each, Talk.SENTENCES)
            for day in (1, 3, 5, 6)
        ]
    assert asked[-1] > 1.4 * asked[0]
    most = list(accumulate(asked, max))
    assert all(then <= 1.2 * before for before, then in zip(most, asked[1:], strict=False))
