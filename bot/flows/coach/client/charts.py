"""What the coach's charts of mornings and weeks are drawn from, as plain values."""

from datetime import date, timedelta
from statistics import fmean
from typing import TypedDict

from bot.flows.facts import ClientRecord, Facts
from bot.flows.record.overload_watch import minutes_by_day
from core.load.training_load import DAYS_IN_WEEK, daily_loads
from core.readiness.readiness import EASE_OFF_FROM, distance_from_usual

WEEKS_SHOWN = 6
DAYS_SHOWN = 28


class WeekPoints(TypedDict):
    """Minutes trained in each week, oldest first, by its last day; and the usual, once known."""

    ends: list[date]
    minutes: list[float]
    usual: float | None


class MorningPoints(TypedDict):
    """How far each day was from the usual, in points, oldest first; and the usual band."""

    days: list[date]
    distances: list[float | None]
    plans: list[str | None]
    low: float
    high: float


def week_points(record: ClientRecord, facts: Facts) -> WeekPoints | None:
    """Minutes of the last weeks, oldest first, each up to today's weekday; None without any.

    Weeks before the first session are left out. The usual is the mean of the whole weeks before
    this one, once there are two.
    """
    today = record.person.local(facts.now).date()
    trained = minutes_by_day(facts, record)
    if not trained:
        return None
    first = min(trained)
    ends = [today - timedelta(days=DAYS_IN_WEEK * back) for back in range(WEEKS_SHOWN)][::-1]
    ends = [end for end in ends if end >= first]
    weeks = [sum(daily_loads(trained, end, DAYS_IN_WEEK)) for end in ends]
    if not any(weeks):
        return None
    whole = [
        week
        for end, week in zip(ends[:-1], weeks[:-1], strict=True)
        if end - timedelta(days=DAYS_IN_WEEK - 1) >= first
    ]
    usual = fmean(whole) if len(whole) > 1 else None
    return {"ends": ends, "minutes": weeks, "usual": usual}


def morning_points(record: ClientRecord, facts: Facts) -> MorningPoints | None:
    """The last four weeks, ``None`` on days without a check-in; None without two of them.

    The band is where a day stays as planned; it is the rule's own: no bad stretch widens it.
    """
    today = record.person.local(facts.now).date()
    done = {one.on: one for one in facts.checkins(record.id, DAYS_SHOWN)}
    days = [today - timedelta(days=back) for back in range(DAYS_SHOWN)][::-1]
    found = [done.get(day) for day in days]
    scores = [None if one is None else one.score for one in found]
    if sum(score is not None for score in scores) < 2:
        return None
    return {
        "days": days,
        "distances": [None if score is None else distance_from_usual(score) for score in scores],
        "plans": [None if one is None else one.day_plan for one in found],
        "low": -EASE_OFF_FROM,
        "high": EASE_OFF_FROM,
    }
