"""The easiest rung of each family that a client may do, worked out from the record."""

from collections.abc import Mapping, Set
from dataclasses import replace
from datetime import date, time
from functools import cache
from typing import Any

from bot.flows.record.profile import client_of
from bot.reference.catalogue import load_catalogue
from core.client.client import KitAtHome
from core.movements.ladder import ladder
from core.vocabulary import Family, Spare
from tests.lives.store import Person

SAME = 1.001
"""Demands closer than this are the same."""


AWAY = KitAtHome(chair=43.0, wall=True, mat=False)
"""A firm chair and a wall: all that there is away from home."""


def is_the_easiest(
    person: Person, item: Mapping[str, Any], on: date, hurts: Set[str], *, away: bool
) -> bool:
    """Whether nothing easier of its family stands on the client's ladder and is allowed.

    Args:
        hurts: joints that hurt lately: what loads one of them need not be done, however easy.
        away: only a chair and a wall are there.
    """
    easiest = _easiest(person, item["family"], on, hurts, away=away)
    return item["demand"] <= easiest * SAME


def _easiest(person: Person, family: str, on: date, hurts: Set[str], *, away: bool) -> float:
    client = client_of(
        person.profile,
        name=person.name,
        country=person.country,
        zone="UTC",
        checkin_at=time(8, 0),
        training_days=(1, 2, 3, 4, 5, 6, 7),
    )
    there = replace(client, kit=AWAY) if away else client
    steps = ladder(there, Family(family), _catalogue(), on)
    sore = {Spare(one) for one in hurts}
    allowed = [
        one.demand
        for one in steps
        if one.rung not in client.limits.forbidden and not one.stresses & sore
    ]
    return min(allowed, default=float("inf"))


@cache
def _catalogue() -> Any:
    return load_catalogue()
