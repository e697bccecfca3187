"""Walks against what is published: WHO 2020 (Br J Sports Med 54:1451-62) and others, by excerpt."""

from datetime import date
from functools import partial

import pytest

from core.client.client import Client
from core.programme import walking
from core.programme.walking import (
    FAR_AIM_MINUTES,
    MOST_MINUTES,
    WalksNow,
)
from core.vocabulary import Condition, WalkingAid
from tests.core.movements.people import catalogue

may_be_brisk = partial(walking.may_be_brisk, table=catalogue().steering)
walk_today = partial(walking.walk_today, table=catalogue().steering)
MONDAY = date(2026, 3, 2)


def test_the_far_aim_is_that_of_who_2020():
    """At least 150 to 300 minutes of moderate activity a week, also with chronic conditions."""
    assert (FAR_AIM_MINUTES, MOST_MINUTES) == (150, 300)


def test_no_brisk_walking_plan_for_people_at_high_risk_of_falls():
    """Sherrington 2011 (NSW Public Health Bull 22:78-83): no brisk walking programme for them."""
    at_risk = Client("Ada", falls=2, walking_aid=WalkingAid.STICK)
    assert not may_be_brisk(at_risk, dizzy=False)


@pytest.mark.parametrize(
    ("condition", "longest"),
    [
        (Condition.STROKE, 10),  # AHA/ASA 2014: 20 to 60 minutes, also in bouts of ten
        (Condition.DIABETES, 15),  # DiPietro 2013: three walks of 15 minutes after meals
        (Condition.HEART_FAILURE, 15),  # CCS 2013: begin with 10 to 15 minutes
    ],
)
def test_bouts_of_a_condition(condition: Condition, longest: int):
    client = Client("Ada", conditions=frozenset({condition}))
    today = walk_today(client, [], MONDAY, WalksNow(minutes=30, days=5))
    assert today is not None
    assert sum(today.bouts) == 30
    assert max(today.bouts) == longest


def test_leg_arteries_as_the_aha_advises():
    """Walk to moderate pain, stop until it has gone, three days, 15 up to 45 minutes."""
    client = Client("Ada", conditions=frozenset({Condition.LEG_ARTERIES}))
    today = walk_today(client, [], MONDAY, WalksNow(minutes=60, days=5))
    assert today is not None
    assert (today.week.days, today.minutes) == (3, 45)
    assert today.walk_minutes > 0
    assert today.stop_minutes > 0
