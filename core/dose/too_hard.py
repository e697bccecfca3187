"""Training that has been harder than it should be, over sessions: what halves the next one.

Ours throughout, on the side of caution: half the sets until it is over.
"""

from collections.abc import Iterable, Sequence
from datetime import date
from typing import Final

from core.dose.family_record import sessions_at_none
from core.dose.history import History, SessionDone, SetDone
from core.dose.prescription import DoseCode
from core.intensity.effort_guide import HIGHEST_EFFORT
from core.vocabulary import Family

OVER_SESSIONS: Final = 2
"""So many sessions in a row over the ceiling of effort ease the plan."""
FAILING_SESSIONS: Final = 4
"""Two sessions at none left lead down a step; two more of the same family make a lighter week."""
LOOK_BACK_DAYS: Final = 14
LIGHTER_DAYS: Final = 7


def halved_because(history: History, on: date, *, careful: bool) -> DoseCode | None:
    """Why a session has half the sets, where training has been too hard; ``None`` where not.

    Args:
        careful: a condition asks for more in hand (:func:`core.client.care.is_careful`).
    """
    before = [one for one in history.sessions if one.on < on]
    if over_ceiling(before, effort_ceiling(careful=careful), on):
        return DoseCode.EFFORT_OVER_CEILING
    if keeps_failing([one for one in history.sets if one.on < on], on):
        return DoseCode.KEEPS_FAILING
    return None


def effort_ceiling(*, careful: bool) -> float:
    """Effort of a session over which it was too hard: what the guide tells, one more for the well.

    A session scale is told in whole numbers, and one step of it is within its own noise.
    """
    return HIGHEST_EFFORT + (0.0 if careful else 1.0)


def over_ceiling(sessions: Sequence[SessionDone], ceiling: float, on: date) -> bool:
    """Whether the last two efforts that were told both lay over the ceiling.

    Args:
        sessions: finished ones, oldest first.
    """
    told = [
        one.effort
        for one in sessions
        if one.effort is not None and 0 <= (on - one.on).days <= LOOK_BACK_DAYS
    ]
    last = told[-OVER_SESSIONS:]
    return len(last) == OVER_SESSIONS and min(last) > ceiling


def keeps_failing(sets: Iterable[SetDone], on: date) -> bool:
    """Whether a family ended its last four sessions with none left, the last within a week."""
    by_family: dict[Family, list[SetDone]] = {}
    for done in sets:
        if done.family is not Family.BALANCE:
            by_family.setdefault(done.family, []).append(done)
    return any(
        (on - own[-1].on).days <= LIGHTER_DAYS and sessions_at_none(own) >= FAILING_SESSIONS
        for own in by_family.values()
    )
