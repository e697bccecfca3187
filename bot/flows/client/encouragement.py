"""One encouraging fact that is true, from the record."""

from collections.abc import Sequence
from datetime import date, timedelta
from typing import NotRequired, TypedDict

from bot.flows.facts import Facts
from core.dose.history import SetDone
from core.vocabulary import Family, PersonId

WORTH_SAYING = 1.05
"""A climb smaller than this is within what a day makes."""

MONTH_DAYS = 30
SEAT_DIAL = "cushion"
"""Centimetres on the seat: less of it is a lower chair."""


class ClimbFact(TypedDict):
    """One movement that got harder: by a lower seat, from one rung to another, or in percent."""

    kind: str
    family: str
    since: date
    centimetres: NotRequired[int]
    before: NotRequired[str]
    after: NotRequired[str]
    percent: NotRequired[int]


class SessionsFact(TypedDict):
    """How often the client trained in the last month; whether this was the first time ever."""

    kind: str
    count: int
    first: bool


class WeeksFact(TypedDict):
    """How many weeks in a row had a training day, this one included."""

    kind: str
    count: int


WEEKS_WORTH_SAYING = 2


def true_fact(client_id: PersonId, facts: Facts) -> ClimbFact | SessionsFact | WeeksFact:
    """What the client does now and could not at first; else how often she has trained.

    Kinds: "seat" (the same movement from a lower seat), "rung" (a harder variant), "climb" (percent
    more work), "weeks" in a row, "sessions". Of several another one is told after each session.
    """
    history = facts.history(client_id)
    days = history.days_trained()
    climbs = []
    for family in Family:
        done = history.of_family(family)
        if len(done) > 1 and done[-1].demand >= WORTH_SAYING * done[0].demand > 0:
            climbs.append(_climb(family, done, facts))
    today = facts.me.local(facts.now).date()
    weeks = _weeks_in_a_row(days, today)
    told: list[ClimbFact | WeeksFact] = [*climbs]
    if weeks >= WEEKS_WORTH_SAYING:
        told.append({"kind": "weeks", "count": weeks})
    if told:
        return told[len(days) % len(told)]
    recent = [day for day in days if (today - day).days < MONTH_DAYS]
    return {"kind": "sessions", "count": max(1, len(recent)), "first": len(days) <= 1}


def _weeks_in_a_row(days: Sequence[date], today: date) -> int:
    """ISO weeks without a break up to this one; 0 where this one has no training day yet."""
    weeks = {day - timedelta(days=day.weekday()) for day in days}
    week, count = today - timedelta(days=today.weekday()), 0
    while week in weeks:
        week, count = week - timedelta(days=7), count + 1
    return count


def _climb(family: Family, done: Sequence[SetDone], facts: Facts) -> ClimbFact:
    first, now = done[0], done[-1]
    before, after = (one.step_key.partition("@")[0] for one in (first, now))
    if before == after:
        lower = _dial(first, SEAT_DIAL) - _dial(now, SEAT_DIAL)
        if lower > 0:
            return {**_told("seat", family, first), "centimetres": round(lower)}
    elif {before, after} <= set(facts.reference.catalogue.by_id):
        return {**_told("rung", family, first), "before": before, "after": after}
    percent = round((now.demand / first.demand - 1) * 100)
    return {**_told("climb", family, first), "percent": percent}


def _told(kind: str, family: Family, first: SetDone) -> ClimbFact:
    return {"kind": kind, "family": family.value, "since": first.on}


def _dial(done: SetDone, name: str) -> float:
    """A dial's number in a logged set; 0 where it stood at its plain value."""
    settings = dict(one.split("=", 1) for one in done.step_key.partition("@")[2].split(",") if one)
    return float(settings.get(name, 0.0))
