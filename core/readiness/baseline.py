"""A client's own baseline for each morning item, and each day's points below it.

The usual starts at 3.7 of 5, worth four days, and then follows slowly: each answer moves it by
its (clipped) distance divided by the days known, at most 42. Dividing by a client's own spread was
tried and made the score worse (the spread of a few weeks is mostly noise), so nothing is divided.
"""

from collections import deque
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta

from core.readiness.morning_questions import IllKind, Morning, MorningItem

_PRIOR, _PRIOR_DAYS = 3.7, 4
_LONGEST_MEMORY = 42
_CLIP = 1.2
CARRIED = 0.6
"""Share of the last known shortfall that a day without answers is taken to have."""

ILLNESS_POINTS: Mapping[IllKind, float] = {
    IllKind.NONE: 0.0,
    IllKind.ABOVE_NECK: 0.4,
    IllKind.BELOW_NECK: 0.7,
    IllKind.FEVER: 0.9,
}
"""Points below baseline that an illness counts, on top of the items."""


@dataclass(frozen=True, slots=True)
class DayShortfall:
    """One day's points below the client's own baseline (negative: above it).

    Attributes:
        points: with illness; for a day without answers the carried share of the day before.
        items_only: the same without illness.
        by_item: usual minus answer, of the items answered.
        baseline: the baseline by item that the day was compared with.
        answered: whether any item was answered.
    """

    on: date
    points: float
    items_only: float
    by_item: Mapping[MorningItem, float]
    baseline: Mapping[MorningItem, float]
    answered: bool
    ill: bool


@dataclass(slots=True)
class _Baseline:
    """The running centres, while a history is walked."""

    centre: dict[MorningItem, float] = field(
        default_factory=lambda: dict.fromkeys(MorningItem, _PRIOR)
    )
    days: dict[MorningItem, int] = field(
        default_factory=lambda: dict.fromkeys(MorningItem, _PRIOR_DAYS)
    )

    def learn(self, morning: Morning) -> None:
        """Move toward one morning's answers; a sick day says nothing about the baseline."""
        if morning.is_ill:
            return
        for item, value in morning.items().items():
            self.days[item] += 1
            distance = max(-_CLIP, min(_CLIP, value - self.centre[item]))
            self.centre[item] += distance / min(self.days[item], _LONGEST_MEMORY)


def shortfalls(history: Sequence[Morning], until: date, *, lag: int = 0) -> Iterator[DayShortfall]:
    """Each day from the first morning to ``until``, in order, days without answers included.

    Args:
        history: mornings in any order, at most one a day (of two, the later in the sequence).
        lag: days by which the baseline trails, so that a bad stretch cannot hide itself in it.
    """
    by_day = {morning.on: morning for morning in history if morning.on <= until}
    if not by_day:
        return
    baseline, points, items_only = _Baseline(), 0.0, 0.0
    trail = deque([dict(baseline.centre)], maxlen=lag + 1)
    day = min(by_day)
    while day <= until:
        morning = by_day.get(day)
        answers = morning.items() if morning is not None else {}
        below = {item: trail[0][item] - value for item, value in answers.items()}
        illness = ILLNESS_POINTS[morning.ill or IllKind.NONE] if morning is not None else 0.0
        items_only = sum(below.values()) / len(below) if below else CARRIED * items_only
        points = items_only + illness if below else max(illness, CARRIED * points)
        yield DayShortfall(
            on=day,
            points=points,
            items_only=items_only,
            by_item=below,
            baseline=trail[0],
            answered=bool(below),
            ill=morning is not None and morning.is_ill,
        )
        if morning is not None:
            baseline.learn(morning)
        trail.append(dict(baseline.centre))
        day += timedelta(days=1)
