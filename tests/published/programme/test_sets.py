"""Sets a week for each major group, once the first weeks are over."""

from datetime import date, timedelta

from core.client.client import Client
from core.programme.groups import Group
from core.vocabulary import Aim, WalkingAid
from tests.core.movements.people import catalogue, client
from tests.support.programme_lives import TRAINS, LivedDay, live

MONDAY = date(2026, 3, 2)
MAJOR = (Group.KNEE, Group.HIP, Group.PUSH, Group.PULL, Group.CALF, Group.TRUNK)
STEADY: Client = client(
    session_minutes=0, aim=Aim.STRENGTH, falls=0, walking_aid=WalkingAid.NONE, lives_alone=False
)


def test_two_or_three_sets_on_two_or_three_days_for_each_major_group():
    """Older adults: two to three sets of one or two exercises for each major group, on two to three
    days a week (Fragala 2019, NSCA, from memory); four to nine sets a week (Borde 2015).

    Over four weeks: a group may miss a turn to carrying or to getting up from the floor.
    """
    days = list(live(STEADY, catalogue(), MONDAY, weeks=9))
    later = [day for day in days if _is_working_week((day.on - MONDAY).days // 7)]
    for group in MAJOR:
        sets, turns = _sets_and_turns(later, group)
        assert 2 <= sets / turns <= 3, group
        assert 1.5 <= turns / 4 <= 3, group
        assert 3.5 <= sets / 4 <= 9, group


def test_a_beginner_starts_with_one_set():
    """One set at first, more with time (Fragala 2019, from memory)."""
    for day in live(STEADY, catalogue(), MONDAY, weeks=1):
        others = [
            item for item in day.plan.prescriptions if item.family not in TRAINS[Group.BALANCE]
        ]
        assert {item.sets for item in others} == {1}
        assert day.on - MONDAY < timedelta(days=7)


def _is_working_week(week: int) -> bool:
    """Weeks six to nine: past the first lighter week, before the next."""
    return 5 <= week <= 8


def _sets_and_turns(days: list[LivedDay], group: Group) -> tuple[int, int]:
    found = [
        item.sets for day in days for item in day.plan.prescriptions if item.family in TRAINS[group]
    ]
    return sum(found), len(found)
