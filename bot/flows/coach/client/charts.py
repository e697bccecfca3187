"""What the coach's charts of mornings and weeks are drawn from, as plain values."""

from datetime import date, timedelta
from statistics import fmean, pstdev
from typing import TypedDict

from bot.flows.facts import ClientRecord, Facts
from bot.flows.record.overload_watch import loads_by_day
from core.load.training_load import DAYS_IN_WEEK, daily_loads, week_load

WEEKS_SHOWN = 6
DAYS_SHOWN = 28
USUAL_NEEDS_DAYS = 14
"""Mornings before a usual range is drawn."""


class WeekPoints(TypedDict):
    """The load of each week, oldest first, by its last day; and the usual, once there is one."""

    ends: list[date]
    loads: list[float]
    usual: float | None


class MorningPoints(TypedDict):
    """Readiness and plan of each day, oldest first; and the usual range, once there is one."""

    days: list[date]
    scores: list[float | None]
    plans: list[str | None]
    low: float | None
    high: float | None


def week_points(record: ClientRecord, facts: Facts) -> WeekPoints | None:
    """Load of each of the last weeks, oldest first, each up to today's weekday; None without any.

    The usual is the mean of the weeks before this one, once two of them had load.
    """
    today = record.person.local(facts.now).date()
    loads = loads_by_day(facts, record)
    ends = [today - timedelta(days=DAYS_IN_WEEK * back) for back in range(WEEKS_SHOWN)][::-1]
    weeks = [week_load(daily_loads(loads, end, DAYS_IN_WEEK)) for end in ends]
    if not any(weeks):
        return None
    before = [week for week in weeks[:-1] if week]
    usual = fmean(before) if len(before) > 1 else None
    return {"ends": ends, "loads": weeks, "usual": usual}


def morning_points(record: ClientRecord, facts: Facts) -> MorningPoints | None:
    """Readiness of the last four weeks, ``None`` where there was no check-in, or no two of them.

    The usual range is one spread around the mean of the client's own scores.
    """
    today = record.person.local(facts.now).date()
    done = {one.on: one for one in facts.checkins(record.id, DAYS_SHOWN)}
    days = [today - timedelta(days=back) for back in range(DAYS_SHOWN)][::-1]
    found = [done.get(day) for day in days]
    scores = [None if one is None else one.score for one in found]
    told = [score for score in scores if score is not None]
    if len(told) < 2:
        return None
    known = len(told) >= USUAL_NEEDS_DAYS
    return {
        "days": days,
        "scores": scores,
        "plans": [None if one is None else one.day_plan for one in found],
        "low": fmean(told) - pstdev(told) if known else None,
        "high": fmean(told) + pstdev(told) if known else None,
    }
