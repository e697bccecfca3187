"""Walks on a client's record: this week's, today's, and what was walked before the first plan."""

from bot.flows.facts import Checkin, ClientRecord, Facts
from bot.flows.record.planning import dizzy_lately, restarts_on
from core.dose.family_record import sore_joints
from core.load.training_load import DAYS_IN_WEEK
from core.programme.walking import (
    Activity,
    WalksNow,
    WalkToday,
    WalkWeek,
    in_place_of_walks,
    walk_today,
    walk_week,
)
from core.vocabulary import DayPlan

WALKS_NOW = "walks_now"
"""Profile key: ``minutes`` at a time and ``days`` a week, as told before the first plan."""

WALKS_SET = "walks_set"
"""Profile key: the same, as the coach has set it; ``None`` where walks are worked out."""

STEADY = "steady_activity"
"""Profile key: the activity that the client has named in place of walks."""

LOOK_BACK_DAYS = 120


def steady_of(record: ClientRecord, facts: Facts) -> Activity:
    """What is planned: walks, or what the client has named in their place while it may be."""
    told = record.answers.get(STEADY)
    others = in_place_of_walks(record.client, facts.reference.catalogue.steering)
    return next((one for one in others if one == told), Activity.WALK)


def walked_lately(record: ClientRecord, facts: Facts) -> int:
    """Minutes walked in the last seven days."""
    today = record.person.local(facts.now).date()
    walks = facts.walks(record.id, LOOK_BACK_DAYS)
    return sum(walk.minutes for walk in walks if (today - walk.on).days < DAYS_IN_WEEK)


def walks_now(record: ClientRecord) -> WalksNow | None:
    """What the client walked before the first plan, where it was told."""
    return _walks(record, WALKS_NOW)


def walks_set(record: ClientRecord) -> WalksNow | None:
    """What the coach has set, if she has."""
    return _walks(record, WALKS_SET)


def _walks(record: ClientRecord, key: str) -> WalksNow | None:
    told = record.answers.get(key)
    return WalksNow(int(told["minutes"]), int(told["days"])) if told else None


def walk_week_of(record: ClientRecord, facts: Facts) -> WalkWeek:
    """What this week asks for."""
    today = record.person.local(facts.now).date()
    walks = facts.walks(record.id, LOOK_BACK_DAYS)
    lightest = restarts_on(record, today, facts)
    return walk_week(
        record.client,
        walks,
        today,
        walks_now(record),
        facts.reference.catalogue.steering,
        lightest=lightest,
        by_coach=walks_set(record),
    )


def walk_today_of(record: ClientRecord, checkin: Checkin, facts: Facts) -> WalkToday | None:
    """Today's walk; ``None`` for somebody who does not walk."""
    return walk_today(
        record.client,
        facts.walks(record.id, LOOK_BACK_DAYS),
        checkin.on,
        walks_now(record),
        facts.reference.catalogue.steering,
        ease_off=checkin.day_plan == DayPlan.EASE_OFF,
        lightest=restarts_on(record, checkin.on, facts),
        by_coach=walks_set(record),
        dizzy=dizzy_lately(record, facts),
        sore=sore_joints(facts.history(record.id).pains, checkin.on),
    )
