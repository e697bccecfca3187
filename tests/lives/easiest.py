"""The easiest rung of each family that a client may do, worked out from the record."""

from collections.abc import Mapping, Set
from dataclasses import replace
from datetime import date, time
from functools import cache
from typing import Any

from bot.flows.record.profile import client_of
from bot.reference.catalogue import load_catalogue
from core.client.client import KitAtHome
from core.client.set_week import WeekStart
from core.movements.ladder import ladder
from core.vocabulary import Family, Spare
from tests.lives.store import Person

SAME = 1.001
"""Demands closer than this are the same."""


AWAY = KitAtHome(chair=43.0, wall=True, mat=False)
"""A firm chair and a wall: all that there is away from home."""

A_QUARTER_MORE = 1.25
"""The most that may stand in for kit that is not there today."""

ON_A_CHAIR = frozenset({"sit", "front_sit"})
"""Stances of a week that the coach has set to begin seated."""


def is_the_easiest(
    person: Person,
    item: Mapping[str, Any],
    on: date,
    hurts: Set[str],
    *,
    away: bool,
    lacks_kit: bool,
) -> bool:
    """Whether nothing easier of its family stands on the client's ladder and is allowed.

    Args:
        hurts: joints that hurt lately: what loads one of them need not be done, however easy.
        away: only a chair and a wall are there.
        lacks_kit: the client has said of some kit that it is not there today. Of which cannot be
            told from the record, so a little harder may have taken its place.
    """
    easiest = _easiest(person, item["family"], on, hurts, away=away)
    return item["demand"] <= easiest * (A_QUARTER_MORE if lacks_kit else 1) * SAME


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
        if client.week.start is not WeekStart.SEATED
        or _catalogue().by_id[one.rung].stance in ON_A_CHAIR
    ]
    return min(allowed, default=float("inf"))


@cache
def _catalogue() -> Any:
    return load_catalogue()
