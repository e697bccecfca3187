"""One encouraging fact that is true, from the record."""

from typing import Any

from bot.flows.facts import Facts
from core.vocabulary import Family, PersonId

WORTH_SAYING = 1.05
"""A climb smaller than this is within what a day makes."""

MONTH_DAYS = 30


def true_fact(client_id: PersonId, facts: Facts) -> dict[str, Any]:
    """The family climbed most, or how often the client has trained, with its numbers."""
    history = facts.history(client_id)
    climbs: list[tuple[float, str]] = []
    for family in Family:
        done = history.of_family(family)
        if len(done) > 1 and done[0].demand > 0:
            climbs.append((done[-1].demand / done[0].demand, family.value))
    ratio, name = max(climbs, default=(0.0, ""))
    if ratio >= WORTH_SAYING:
        since = history.of_family(Family(name))[0].on
        percent = round((ratio - 1) * 100)
        return {"kind": "climb", "family": name, "percent": percent, "since": since}
    today = facts.me.local(facts.now).date()
    days = [day for day in history.days_trained() if (today - day).days < MONTH_DAYS]
    return {"kind": "sessions", "count": max(1, len(days))}
