"""How long sets take, and how much slower than reckoned this client goes through a session."""

from collections.abc import Sequence
from datetime import date
from statistics import median
from typing import Final

from core.dose.history import History, Unit
from core.movements.catalogue import Catalogue

SECONDS_A_REP: Final = 4.0
"""Of a rung that the catalogue no longer knows."""
USUAL_REST_SECONDS: Final = 75.0
"""Between two sets, where time is not short, and where it is not known how long somebody rested."""
LAST_SESSIONS: Final = 5
SESSIONS_FOR_A_PACE: Final = 2
SETS_FOR_A_PACE: Final = 3
SLOWEST: Final = 1.8
"""A session in which somebody went for a coffee says nothing of the next one (ours)."""


def set_seconds(rung_id: str, amount: int, unit: Unit, catalogue: Catalogue) -> float:
    """Seconds of one set without its rest, both sides where each has its own."""
    rung = catalogue.by_id.get(rung_id)
    each = rung.tempo.total if rung else SECONDS_A_REP
    work = amount * (each if unit is Unit.REPS else 1.0)
    return work * (2.0 if rung is not None and rung.each_side else 1.0)


def own_pace(history: History, catalogue: Catalogue, on: date, *, around_minutes: int) -> float:
    """Told minutes over reckoned ones, 1 to 1.8: the median of the last sessions before ``on``.

    Only a slower client counts: who was quicker gets no fuller session for it (ours).

    Args:
        around_minutes: warm-up and cool-down together.
    """
    found: list[float] = []
    for session in reversed(history.sessions):
        if session.minutes is None or session.on >= on:
            continue
        reckoned = _reckoned_minutes(history, session.on, catalogue)
        if reckoned:
            found.append((session.minutes - around_minutes) / reckoned)
        if len(found) == LAST_SESSIONS:
            break
    if len(found) < SESSIONS_FOR_A_PACE:
        return 1.0
    return min(max(median(found), 1.0), SLOWEST)


def _reckoned_minutes(history: History, on: date, catalogue: Catalogue) -> float:
    """Work and rests of a day's sets; 0 where there are too few to say anything."""
    seconds: Sequence[float] = [
        set_seconds(done.step_key.partition("@")[0], done.amount, done.unit, catalogue)
        for done in history.sets_on(on)
        for _ in range(done.sets)
    ]
    if len(seconds) < SETS_FOR_A_PACE:
        return 0.0
    return (sum(seconds) + USUAL_REST_SECONDS * (len(seconds) - 1)) / 60.0
