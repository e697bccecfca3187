"""One encouraging fact that is true, from the record."""

from collections.abc import Sequence
from typing import Any

from bot.flows.facts import Facts
from core.dose.history import SetDone
from core.vocabulary import Family, PersonId

WORTH_SAYING = 1.05
"""A climb smaller than this is within what a day makes."""

MONTH_DAYS = 30
SEAT_DIAL = "cushion"
"""Centimetres on the seat: less of it is a lower chair."""


def true_fact(client_id: PersonId, facts: Facts) -> dict[str, Any]:
    """What the client does now and could not at first; else how often she has trained.

    Kinds: "seat" (the same movement from a lower seat), "rung" (a harder variant), "climb" (percent
    more work), "sessions". Of several climbs another one is told after each session.
    """
    history = facts.history(client_id)
    days = history.days_trained()
    climbs = []
    for family in Family:
        done = history.of_family(family)
        if len(done) > 1 and done[-1].demand >= WORTH_SAYING * done[0].demand > 0:
            climbs.append(_climb(family, done, facts))
    if climbs:
        return climbs[len(days) % len(climbs)]
    today = facts.me.local(facts.now).date()
    recent = [day for day in days if (today - day).days < MONTH_DAYS]
    return {"kind": "sessions", "count": max(1, len(recent)), "first": len(days) <= 1}


def _climb(family: Family, done: Sequence[SetDone], facts: Facts) -> dict[str, Any]:
    first, now = done[0], done[-1]
    told = {"family": family.value, "since": first.on}
    before, after = (one.step_key.partition("@")[0] for one in (first, now))
    if before == after:
        lower = _dial(first, SEAT_DIAL) - _dial(now, SEAT_DIAL)
        if lower > 0:
            return {**told, "kind": "seat", "centimetres": round(lower)}
    elif {before, after} <= set(facts.reference.catalogue.by_id):
        return {**told, "kind": "rung", "before": before, "after": after}
    percent = round((now.demand / first.demand - 1) * 100)
    return {**told, "kind": "climb", "percent": percent}


def _dial(done: SetDone, name: str) -> float:
    """A dial's number in a logged set; 0 where it stood at its plain value."""
    settings = dict(one.split("=", 1) for one in done.step_key.partition("@")[2].split(",") if one)
    return float(settings.get(name, 0.0))
