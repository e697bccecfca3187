"""The easiest rung of each family that a client may do, worked out from the record."""

from collections.abc import Mapping
from datetime import date, time
from functools import cache
from typing import Any

from bot.flows.record.profile import client_of
from bot.reference.catalogue import load_catalogue
from core.movements.ladder import ladder
from core.vocabulary import Family
from tests.lives.store import Person

SAME = 1.001
"""Demands closer than this are the same."""


def is_the_easiest(person: Person, item: Mapping[str, Any], on: date) -> bool:
    """Whether nothing easier of its family stands on the client's ladder and is allowed."""
    return item["demand"] <= _easiest(person, item["family"], on) * SAME


def _easiest(person: Person, family: str, on: date) -> float:
    client = client_of(
        person.profile,
        name=person.name,
        country=person.country,
        zone="UTC",
        checkin_at=time(8, 0),
        training_days=(1, 2, 3, 4, 5, 6, 7),
    )
    steps = ladder(client, Family(family), _catalogue(), on)
    allowed = [one.demand for one in steps if one.rung not in client.limits.forbidden]
    return min(allowed, default=float("inf"))


@cache
def _catalogue() -> Any:
    return load_catalogue()
