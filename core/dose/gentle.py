"""What is done in each part of warm-up and cool-down: this client's own gentle movements."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date
from typing import Final

from core.client.client import Client
from core.dose.seated import within_start
from core.movements.catalogue import Catalogue
from core.movements.ladder import ladder
from core.vocabulary import Family

MOVES_A_PART: Final = 2


PREPARED_BY: Final[Mapping[Family, tuple[str, ...]]] = {
    **dict.fromkeys(
        (Family.SQUAT, Family.LUNGE, Family.HINGE, Family.BRIDGE),
        ("warm_small_squat", "warm_march_held", "warm_seated_march"),
    ),
    Family.STEP: ("warm_march_held", "warm_march", "warm_seated_march"),
    Family.HEEL_RAISE: ("warm_march", "warm_march_held", "warm_seated_kick"),
    **dict.fromkeys(
        (Family.PUSH, Family.PULL, Family.OVERHEAD), ("warm_arm_swing", "warm_shoulder_rolls")
    ),
    Family.BRACE: ("warm_shoulder_rolls", "warm_seated_march"),
    Family.SIDE_LIFT: ("warm_side_tap", "warm_march_held"),
    Family.BALANCE: ("warm_side_tap", "warm_march_held"),
}
"""What moves the same joints in the same way, the likest first (common practice)."""


def warm_up_moves(
    client: Client,
    catalogue: Catalogue,
    on: date,
    part: int,
    parts: int,
    families: Sequence[Family] = (),
) -> tuple[str, ...]:
    """Rungs of a part, from 0, the easiest first; none where nothing suits this client.

    Args:
        parts: of the whole warm-up.
        families: the movements of today, which it prepares.
    """
    rungs = _rungs(client, Family.WARM_UP, catalogue, on)
    chosen = _preparing(families, rungs)[: parts * MOVES_A_PART]
    return _dealt([rung for rung in rungs if rung in chosen], part)


def _preparing(families: Sequence[Family], rungs: Sequence[str]) -> list[str]:
    """The rungs, those that prepare today's movements first; each movement's likest in turn."""
    found = []
    for family in families:
        likest = (rung for rung in PREPARED_BY.get(family, ()) if rung in rungs)
        rung = next((one for one in likest if one not in found), None)
        if rung is not None:
            found.append(rung)
    return [*found, *(rung for rung in rungs if rung not in found)]


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
