"""What the running program counts of itself for a monitor: numbers, never anybody's words.

Counting costs about a microsecond, so it is always on; what reads it is optional.
"""

import threading
from bisect import bisect_left
from collections import Counter
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import datetime
from enum import Enum

from bot.clock import SystemClock

BOUNDS = (0.001, 0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1.0, 2.5, 10.0)
"""Upper ends, in seconds, of the classes into which spans of time are sorted."""


class Counted(Enum):
    """What is counted."""

    ARRIVALS = "arrivals"
    SENDS = "sends"
    COMMITS = "commits"

    @property
    def told_apart_by(self) -> tuple[str, ...]:
        """Names of what tells one count from the other."""
        return _TOLD_APART_BY.get(self, ())


# Not the values themselves: Python 3.11.2 takes an empty tuple there for no value.
_TOLD_APART_BY = {
    Counted.ARRIVALS: ("channel", "kind"),
    Counted.SENDS: ("channel", "outcome"),
}


class Timed(Enum):
    """What is timed."""

    STORE_WAIT = "store wait"
    """From asking the store until one of its threads takes the work up."""
    STORE_WORK = "store work"
    READER = "reader"
    """Reading a text for warning signs."""


@dataclass(slots=True)
class Spans:
    """Spans of time of one kind.

    Attributes:
        classes: how many ended at most at each of :data:`BOUNDS`, and then how many took longer.
        total: of all of them, in seconds.
    """

    classes: list[int] = field(default_factory=lambda: [0] * (len(BOUNDS) + 1))
    total: float = 0.0


class Measures:
    """Counts and times, from any thread."""

    def __init__(self) -> None:
        """Nothing has been counted."""
        self._lock = threading.Lock()
        self._steady = SystemClock().steady
        self._counts: dict[Counted, Counter[tuple[str, ...]]] = {one: Counter() for one in Counted}
        self._spans = {one: Spans() for one in Timed}
        self.swept_at: datetime | None = None
        """When all that was due had last been done."""

    def count(self, what: Counted, *told_apart: str) -> None:
        """One more."""
        with self._lock:
            self._counts[what][told_apart] += 1

    def took(self, what: Timed, seconds: float) -> None:
        """One more span."""
        with self._lock:
            spans = self._spans[what]
            spans.classes[bisect_left(BOUNDS, seconds)] += 1
            spans.total += seconds

    def steady(self) -> datetime:
        """A moment to measure spans by."""
        return self._steady()

    def since(self, what: Timed, began: datetime) -> None:
        """One more span, which began at a moment of :meth:`steady` and ends now."""
        self.took(what, (self._steady() - began).total_seconds())

    @contextmanager
    def timing(self, what: Timed) -> Iterator[None]:
        """Time what is done inside."""
        began = self._steady()
        try:
            yield
        finally:
            self.since(what, began)

    def counts(self, what: Counted) -> Mapping[tuple[str, ...], int]:
        """How many there were, by what tells them apart."""
        with self._lock:
            return dict(self._counts[what])

    def spans(self, what: Timed) -> Spans:
        """All spans of a kind so far."""
        with self._lock:
            found = self._spans[what]
            return Spans(list(found.classes), found.total)
