"""One encouraging fact that is true, from the record."""

from collections.abc import Sequence
from datetime import date, timedelta
from typing import NotRequired, TypedDict

from bot.flows.facts import ClientRecord, Facts
from bot.flows.record.gains import Gain, gains_of
from core.movements.catalogue import Catalogue

WORTH_SAYING_PERCENT = 5
"""A gain smaller than this is within what a day makes."""

MONTH_DAYS = 30
SEAT_DIAL = "cushion"
"""Centimetres on the seat: less of it is a lower chair."""


class ClimbFact(TypedDict):
    """One movement that can be done better: a lower seat, another rung, or percent of capacity."""

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
FEW_FACTS = 1
"""With no more than this to tell, how often she trained comes in between, so that words vary."""


def true_fact(record: ClientRecord, facts: Facts) -> ClimbFact | SessionsFact | WeeksFact:
    """What the client can do now and could not at first; else how often she has trained.

    Never what was asked of her: an easy day is no fall. Kinds: "seat" (the same movement from a
    lower seat), "rung" (a harder variant), "climb" (percent more that she can do), "weeks" in a
    row, "sessions". Of several another one is told after each session; of movements, those that
    were done in it.
    """
    history = facts.history(record.id)
    days = history.days_trained()
    catalogue = facts.reference.catalogue
    done = {one.family.value for one in history.sets_on(days[-1])} if days else set()
    gains = [gain for gain in gains_of(record, facts) if gain["family"] in done]
    climbs = [fact for gain in gains if (fact := _climb(gain, catalogue)) is not None]
    today = facts.me.local(facts.now).date()
    weeks = _weeks_in_a_row(days, today)
    recent = [day for day in days if (today - day).days < MONTH_DAYS]
    sessions: SessionsFact = {
        "kind": "sessions",
        "count": max(1, len(recent)),
        "first": len(days) <= 1,
    }
    told: list[ClimbFact | WeeksFact | SessionsFact] = [*climbs]
    if weeks >= WEEKS_WORTH_SAYING:
        told.append({"kind": "weeks", "count": weeks})
    if len(told) <= FEW_FACTS:
        told.append(sessions)
    return told[len(days) % len(told)]


def _weeks_in_a_row(days: Sequence[date], today: date) -> int:
    """ISO weeks without a break up to this one; 0 where this one has no training day yet."""
    weeks = {day - timedelta(days=day.weekday()) for day in days}
    week, count = today - timedelta(days=today.weekday()), 0
    while week in weeks:
        week, count = week - timedelta(days=7), count + 1
    return count


def _climb(gain: Gain, catalogue: Catalogue) -> ClimbFact | None:
    percent = gain["percent"] or 0
    if gain["changed"]:
        then, now = gain["then"], gain["now"]
        if len(gain["rungs"]) > 1 and _sounds_harder(gain["rungs"], catalogue):
            told = _told("rung", gain)
            return {**told, "before": gain["rungs"][0], "after": gain["rungs"][-1]}
        lower = _dial(then, SEAT_DIAL) - _dial(now, SEAT_DIAL)
        if lower > 0:
            return {**_told("seat", gain), "centimetres": round(lower)}
    if percent < WORTH_SAYING_PERCENT or gain["after_break"]:
        return None
    return {**_told("climb", gain), "percent": percent}


def _sounds_harder(rungs: Sequence[str], catalogue: Catalogue) -> bool:
    """Whether the names alone say so: the shallow form of a hard one may lie under an easy one."""
    places = list(catalogue.by_id)
    return places.index(rungs[0]) < places.index(rungs[-1])


def _told(kind: str, gain: Gain) -> ClimbFact:
    # A seat and a rung are those of the first day; a percent counts from when it was known.
    since = gain["since"] if kind == "climb" else gain["first"]
    return {"kind": kind, "family": gain["family"], "since": since}


def _dial(step_key: str, name: str) -> float:
    """A dial's number in a step's key; 0 where it stands at its plain value."""
    settings = dict(one.split("=", 1) for one in step_key.partition("@")[2].split(",") if one)
    return float(settings.get(name, 0.0))
