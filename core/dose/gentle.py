"""What is done in each part of warm-up and cool-down: this client's own gentle movements."""

from dataclasses import replace
from datetime import date
from typing import Final

from core.client.client import Client
from core.dose.seated import within_start
from core.movements.catalogue import Catalogue
from core.movements.ladder import ladder
from core.vocabulary import Family

MOVES_A_PART: Final = 2


def warm_up_moves(client: Client, catalogue: Catalogue, on: date, part: int) -> tuple[str, ...]:
    """Rungs of a part, from 0, the easiest first; none where nothing suits this client."""
    return _dealt(_rungs(client, Family.WARM_UP, catalogue, on), part)


def cool_down_moves(
    client: Client, catalogue: Catalogue, on: date, part: int, *, last: bool
) -> tuple[str, ...]:
    """Rungs of a part, from 0: slow steps, then stretches, and calm breathing in the last part."""
    if last:
        return _dealt(_rungs(client, Family.BREATHING, catalogue, on), 0)
    return _dealt(_rungs(client, Family.COOL_DOWN, catalogue, on)[::-1], part)


def easy_moves(client: Client, catalogue: Catalogue, on: date) -> tuple[str, ...]:
    """Rungs that move the joints, for a day with little time; other ones on another day."""
    return _dealt(_rungs(client, Family.MOBILITY, catalogue, on), on.toordinal())


def _rungs(client: Client, family: Family, catalogue: Catalogue, on: date) -> list[str]:
    """Seated or standing: nobody lies down between the movements of a session."""
    upright = replace(client, kit=replace(client.kit, mat=False))
    steps = within_start(client, ladder(upright, family, catalogue, on), catalogue)
    return list(dict.fromkeys(step.rung for step in steps))


def _dealt(rungs: list[str], part: int) -> tuple[str, ...]:
    """Two a part, from the start again when all were done."""
    if len(rungs) <= MOVES_A_PART:
        return tuple(rungs)
    first = part * MOVES_A_PART
    return tuple(rungs[(first + k) % len(rungs)] for k in range(MOVES_A_PART))
