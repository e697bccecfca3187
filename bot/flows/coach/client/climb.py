"""What a client is believed to be able to do, movement by movement, as values for the coach."""

from collections.abc import Sequence
from datetime import date
from typing import NotRequired, TypedDict

from bot.flows.facts import ClientRecord, Facts
from bot.flows.record.gains import climbs_in, lines_of
from core.dose.climb import CapacityOn, demand_at, likely_range, most_at
from core.dose.history import SetDone, Unit
from core.dose.prescribe import REPS_OF_AIM
from core.vocabulary import Family

WELL_KNOWN_SD, ROUGHLY_KNOWN_SD = 0.05, 0.12
"""Spread of log capacity up to which it is called well known, or roughly known."""

TELLING_KNOWN_SD = 0.45
"""Spread, in repetitions, from which on the client's way of telling is still unknown."""

LEFT_IN_HAND = 2
"""The chart shows the demand that can be done with so many left."""

HOLD_SECONDS = 20


class Line(TypedDict):
    """One movement: what was done, and what the client could do now.

    Attributes:
        rung: the last one done; "" where it was taken out again.
        percent: more that the client can do than on ``gained_since``, as she reads it herself.
        most, low, high: repetitions or seconds at the last step; None where capacity is not known.
        known: how well: "well", "roughly" or "guess".
        spread: of capacity, percent.
    """

    family: str
    rung: str
    last_on: date
    last_amount: int
    seconds: bool
    since: date
    sets: int
    percent: int
    gained_since: date
    most: int | None
    low: NotRequired[int]
    high: NotRequired[int]
    known: NotRequired[str]
    spread: NotRequired[int]


class ClimbPage(TypedDict):
    """What ``coach/climb`` shows; ``none_left``: how many are left when none is told, if known."""

    name: str
    lines: list[Line]
    none_left: float | None
    sets: int


class MovementClimb(Line):
    """What ``coach/climb_movement`` shows: the demand is for ``amount`` with so many ``left``."""

    name: str
    amount: int
    left: int


class ClimbPoints(TypedDict):
    """A movement's climb as numbers, day by day; ``rungs``: the least demand of each."""

    days: list[date]
    capacity: list[float]
    low: list[float]
    high: list[float]
    done: list[float | None]
    rungs: list[tuple[float, str]]
    amount: int
    unit: str


def climb_page(record: ClientRecord, facts: Facts) -> ClimbPage:
    """All movements that were done, each with what the client could do now."""
    history = facts.history(record.id)
    capacity = facts.capacity(record.id)
    telling = capacity.told_none_left
    climbs, gains = climbs_in(record, facts), lines_of(record, facts)
    lines = [
        _line(
            family,
            history.of_family(family),
            climbs.get(family, ()),
            gains.get(family, ()),
            facts,
        )
        for family in trained(record, facts)
    ]
    return {
        "name": record.person.name,
        "lines": lines,
        "none_left": round(telling.mean, 1) if telling.sd <= TELLING_KNOWN_SD else None,
        "sets": len(history.sets),
    }


def climb_movement(record: ClientRecord, family: Family, facts: Facts) -> MovementClimb:
    """One movement in words, for beside its chart."""
    sets = facts.history(record.id).of_family(family)
    gain = lines_of(record, facts).get(family, ())
    line = _line(family, sets, climb_in(record, family, facts), gain, facts)
    amount = _amount(record, Unit.SECONDS if line["seconds"] else Unit.REPS)
    return {"name": record.person.name, **line, "amount": amount, "left": LEFT_IN_HAND}


def trained(record: ClientRecord, facts: Facts) -> list[Family]:
    """The families that this client has done, in the order of the catalogue."""
    done = {one.family for one in facts.history(record.id).sets}
    return [family for family in Family if family in done]


def climb_in(record: ClientRecord, family: Family, facts: Facts) -> tuple[CapacityOn, ...]:
    """Capacity over the days on which a family was done; empty for balance."""
    return climbs_in(record, facts).get(family, ())


def chart_points(record: ClientRecord, family: Family, facts: Facts) -> ClimbPoints | None:
    """The climb for :func:`bot.pictures.charts.movement_climb`, without words; None without any."""
    climb = climb_in(record, family, facts)
    if not climb:
        return None
    sets = facts.history(record.id).of_family(family)
    unit = sets[-1].unit
    amount = _amount(record, unit)

    def demand(log_capacity: float) -> float:
        return demand_at(log_capacity, amount, LEFT_IN_HAND, unit)

    ranges = [likely_range(one.baseline) for one in climb]
    return {
        "days": [one.on for one in climb],
        "capacity": [demand(one.baseline.mean) for one in climb],
        "low": [demand(low) for low, _ in ranges],
        "high": [demand(high) for _, high in ranges],
        "done": [one.done for one in climb],
        "rungs": _lowest_of_each_rung(sets),
        "amount": amount,
        "unit": unit.value,
    }


def _lowest_of_each_rung(sets: Sequence[SetDone]) -> list[tuple[float, str]]:
    """The least demand at which each rung was done, easy to hard."""
    lowest: dict[str, float] = {}
    for one in sets:
        rung = one.step_key.partition("@")[0]
        lowest[rung] = min(one.demand, lowest.get(rung, one.demand))
    return sorted((demand, rung) for rung, demand in lowest.items())


def _amount(record: ClientRecord, unit: Unit) -> int:
    """Middle of what the aim asks for."""
    if unit is Unit.SECONDS:
        return HOLD_SECONDS
    low, high = REPS_OF_AIM[record.client.aim]
    return round((low + high) / 2)


def _line(
    family: Family,
    sets: Sequence[SetDone],
    climb: Sequence[CapacityOn],
    gain: Sequence[tuple[date, int]],
    facts: Facts,
) -> Line:
    last = sets[-1]
    rung = last.step_key.partition("@")[0]
    values: Line = {
        "family": family.value,
        # A rung of the practice's own may have been taken out again.
        "rung": rung if rung in facts.reference.catalogue.by_id else "",
        "last_on": last.on,
        "last_amount": last.amount,
        "seconds": last.unit is Unit.SECONDS,
        "since": sets[0].on,
        "sets": len(sets),
        "percent": gain[-1][1] - 100 if len(gain) > 1 else 0,
        "gained_since": gain[0][0] if gain else sets[0].on,
        "most": None,
    }
    if not climb:
        return values
    now = climb[-1].baseline
    low, high = likely_range(now)
    known = "well" if now.sd <= WELL_KNOWN_SD else "roughly"
    return {
        **values,
        "most": most_at(now.mean, last.demand, last.unit),
        "low": most_at(low, last.demand, last.unit),
        "high": most_at(high, last.demand, last.unit),
        "known": known if now.sd <= ROUGHLY_KNOWN_SD else "guess",
        "spread": round(100.0 * now.sd),
    }
