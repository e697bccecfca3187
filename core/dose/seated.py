"""A week that starts seated keeps to movements on a chair."""

from collections.abc import Sequence
from typing import Final

from core.client.client import Client
from core.client.set_week import WeekStart
from core.movements.catalogue import Catalogue
from core.movements.ladder import LadderStep

SEATED_STANCES: Final = frozenset({"sit", "front_sit"})


def within_start(
    client: Client, steps: Sequence[LadderStep], catalogue: Catalogue
) -> tuple[LadderStep, ...]:
    """The steps that the start of this client's week leaves: all of them, or those on a chair."""
    if client.week.start is not WeekStart.SEATED:
        return tuple(steps)
    return tuple(
        step
        for step in steps
        if step.rung in catalogue.by_id and catalogue.by_id[step.rung].stance in SEATED_STANCES
    )
