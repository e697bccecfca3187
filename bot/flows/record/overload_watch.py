"""The watch on too much training: loads by day from the record, and what the rules make of them.

Walks, and other steady activities, count with their minutes and the effort that the talk test
stands for.
"""

from collections.abc import Sequence
from datetime import date, timedelta
from itertools import groupby
from statistics import fmean
from typing import TypedDict

from bot.flows.facts import Checkin, ClientRecord, Facts, Session
from bot.flows.record.planning import morning_of_answers
from bot.flows.record.start_word import word_of
from core.load.day_shortfall import below_prediction
from core.load.overload import ALARM_ABOVE, Overload, judge_overload, overload_days
from core.load.training_load import (
    DAYS_IN_WEEK,
    daily_loads,
    monotony,
    session_load,
    strain,
    week_jump,
    week_load,
)
from core.programme.walking import TALK_EFFORT, WalkDone
from core.readiness.morning_questions import Morning
from core.readiness.reasons import DayReasonCode
from core.readiness.scales import EffortRating, ScaleId

LOAD_DAYS = 60
WEEKS_BEFORE = 4
EVEN_FROM = 2.0
"""Monotony from which a week is worth a look (flag in common use, from memory)."""


class DayOfWork(TypedDict):
    """What was trained on one day: minutes, and the effort of its hardest session, 0 to 10."""

    on: date
    minutes: float
    effort: float


class WeekOfWork(TypedDict):
    """What ``coach/week_work`` shows.

    Attributes:
        days: of the last seven days, oldest first.
        minutes, sessions, last_minutes, last_sessions: of these seven days and the seven before,
            walks counted apart.
        walked, walks, last_walked, last_walks: minutes and number of walks of the same days.
        said, day_off_on, doctor_on: whether and when the client read of the watch's judgement.
    """

    name: str
    days: list[DayOfWork]
    minutes: float
    sessions: int
    last_minutes: float
    last_sessions: int
    walked: int
    walks: int
    last_walked: int
    last_walks: int
    level: str
    said: bool
    day_off_on: date | None
    doctor_on: date | None


class DayLoad(TypedDict):
    """The session load of one day (Foster 2001)."""

    on: date
    load: float


class LoadMeasures(TypedDict):
    """What ``coach/measures`` shows: the published measures, for a trainer who asks for them.

    Attributes:
        jump: percent of this week over the one before; None without it.
        parts: what the watch's judgement is made of.
    """

    name: str
    days: list[DayLoad]
    week: float
    last_week: float
    jump: int | None
    monotony: float
    even: bool
    strain: float
    usual_strain: float
    alarm: float
    parts: dict[str, int | float]


def loads_by_day(facts: Facts, record: ClientRecord) -> dict[date, float]:
    """Effort x minutes of each day of the last two months; what was done on one day adds up."""
    loads = {on: sum(map(_load, sessions)) for on, sessions in _rated_by_day(facts, record)}
    for walk in facts.walks(record.id, LOAD_DAYS):
        loads[walk.on] = loads.get(walk.on, 0.0) + _load_of_walk(walk)
    return dict(sorted(loads.items()))


def minutes_by_day(facts: Facts, record: ClientRecord) -> dict[date, float]:
    """Minutes of the rated sessions and the walks of each day of the last two months."""
    by_day = _rated_by_day(facts, record)
    minutes = {on: sum(one.minutes or 0.0 for one in sessions) for on, sessions in by_day}
    for walk in facts.walks(record.id, LOAD_DAYS):
        minutes[walk.on] = minutes.get(walk.on, 0.0) + walk.minutes
    return dict(sorted(minutes.items()))


def _rated_by_day(facts: Facts, record: ClientRecord) -> list[tuple[date, list[Session]]]:
    rated = [one for one in facts.sessions(record.id, LOAD_DAYS) if one.effort is not None]
    by_day = groupby(sorted(rated, key=lambda one: one.on), key=lambda one: one.on)
    return [(on, list(sessions)) for on, sessions in by_day]


def _load(session: Session) -> float:
    if session.effort is None or session.minutes is None:
        return 0.0
    effort = EffortRating(session.effort, ScaleId(session.effort_scale))
    return session_load(effort, session.minutes)


def _load_of_walk(walk: WalkDone) -> float:
    return session_load(EffortRating(TALK_EFFORT[walk.talk], ScaleId.SESSION_EFFORT), walk.minutes)


def overload_of(record: ClientRecord, facts: Facts, on: date, morning: Morning | None) -> Overload:
    """The judgement of a day; quiet for two weeks after it has spoken.

    Args:
        morning: the answers of ``on``, as far as there are any.
    """
    mornings = [*facts.mornings(record.id), *([] if morning is None else [morning])]
    history = facts.history(record.id)
    catalogue = facts.reference.catalogue
    word = word_of(record, history, catalogue.steering)
    missed = below_prediction(record.client, history, catalogue, word=word)
    return judge_overload(
        overload_days(mornings, loads_by_day(facts, record), on, missed),
        last_told(facts, record, DayReasonCode.OVERLOAD_DAY_OFF, on),
        last_told(facts, record, DayReasonCode.OVERLOAD_SEE_DOCTOR, on),
    )


def last_told(facts: Facts, record: ClientRecord, code: DayReasonCode, before: date) -> date | None:
    """The last day before ``before`` on which the client read this reason."""
    told = [
        checkin.on
        for checkin in facts.checkins(record.id, LOAD_DAYS)
        if checkin.on < before and said(checkin, code)
    ]
    return max(told, default=None)


def said(checkin: Checkin, code: DayReasonCode) -> bool:
    """Whether the client read this reason that morning."""
    return any(reason.code is code for reason in checkin.reasons)


def week_of_work(record: ClientRecord, facts: Facts) -> WeekOfWork:
    """What the coach sees of the week: minutes and effort, and the watch's own word."""
    today = record.person.local(facts.now).date()
    watch = _watch_of_today(record, facts, today)
    by_day = _rated_by_day(facts, record)
    ends = [today - timedelta(days=DAYS_IN_WEEK * back) for back in (0, 1)]
    this, last = (_of_week(by_day, end) for end in ends)
    walked, last_walked = (_walks_of_week(record, facts, end) for end in ends)
    day_off_on, doctor_on = (
        last_told(facts, record, code, today + timedelta(days=1))
        for code in (DayReasonCode.OVERLOAD_DAY_OFF, DayReasonCode.OVERLOAD_SEE_DOCTOR)
    )
    return {
        "name": record.person.name,
        "days": [_day_of_work(on, sessions) for on, sessions in this],
        "minutes": _minutes(this),
        "sessions": sum(len(sessions) for _, sessions in this),
        "last_minutes": _minutes(last),
        "last_sessions": sum(len(sessions) for _, sessions in last),
        "walked": sum(walk.minutes for walk in walked),
        "walks": len(walked),
        "last_walked": sum(walk.minutes for walk in last_walked),
        "last_walks": len(last_walked),
        "level": watch.level.value,
        "said": today in (day_off_on, doctor_on),
        "day_off_on": day_off_on,
        "doctor_on": doctor_on,
    }


def load_measures(record: ClientRecord, facts: Facts) -> LoadMeasures:
    """The published measures of this week against the ones before.

    The ratio of a short to a long average is left out on purpose (Impellizzeri 2020).
    """
    today = record.person.local(facts.now).date()
    loads = loads_by_day(facts, record)
    weeks = [
        daily_loads(loads, today - timedelta(days=DAYS_IN_WEEK * back), DAYS_IN_WEEK)
        for back in range(WEEKS_BEFORE + 1)
    ]
    this, before = weeks[0], weeks[1:]
    jump = week_jump(week_load(this), week_load(before[0]))
    watch = _watch_of_today(record, facts, today)
    since = today - timedelta(days=DAYS_IN_WEEK - 1)
    return {
        "name": record.person.name,
        "days": [{"on": on, "load": load} for on, load in loads.items() if since <= on <= today],
        "week": week_load(this),
        "last_week": week_load(before[0]),
        "jump": None if jump is None else round(100 * jump),
        "monotony": monotony(this),
        "even": monotony(this) > EVEN_FROM,
        "strain": strain(this),
        "usual_strain": fmean(map(strain, before)),
        "alarm": ALARM_ABOVE,
        "parts": dict(watch.reasons[0].numbers) if watch.reasons else {},
    }


def _watch_of_today(record: ClientRecord, facts: Facts, today: date) -> Overload:
    checkin = facts.checkin(record.id, today)
    finished = checkin is not None and checkin.finished
    morning = morning_of_answers(today, checkin.answers) if checkin and finished else None
    return overload_of(record, facts, today, morning)


def _of_week(
    by_day: Sequence[tuple[date, list[Session]]], last: date
) -> list[tuple[date, list[Session]]]:
    since = last - timedelta(days=DAYS_IN_WEEK - 1)
    return [(on, sessions) for on, sessions in by_day if since <= on <= last]


def _walks_of_week(record: ClientRecord, facts: Facts, last: date) -> list[WalkDone]:
    since = last - timedelta(days=DAYS_IN_WEEK - 1)
    return [walk for walk in facts.walks(record.id, LOAD_DAYS) if since <= walk.on <= last]


def _minutes(days: Sequence[tuple[date, list[Session]]]) -> float:
    return sum(one.minutes or 0.0 for _, sessions in days for one in sessions)


def _day_of_work(on: date, sessions: Sequence[Session]) -> DayOfWork:
    return {
        "on": on,
        "minutes": sum(one.minutes or 0.0 for one in sessions),
        "effort": max(one.effort or 0.0 for one in sessions),
    }
