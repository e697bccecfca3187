"""The only place that reads the time.

Everything else is handed a ``Clock``. The trial page moves its clock forward; tests own theirs.
"""

import time
from datetime import UTC, datetime, timedelta
from typing import Protocol

BEGINNING = datetime(1970, 1, 1, tzinfo=UTC)


class Clock(Protocol):
    """Tells the time."""

    def now(self) -> datetime:
        """The present moment, aware, in UTC."""
        ...

    def steady(self) -> datetime:
        """A moment to measure spans by: it never goes back, whatever the machine's clock does.

        It says nothing about the time of day.
        """
        ...


class SystemClock:
    """The machine's clock."""

    def now(self) -> datetime:
        """The present moment, aware, in UTC."""
        return datetime.now(UTC)

    def steady(self) -> datetime:
        """A moment to measure spans by."""
        return BEGINNING + timedelta(seconds=time.monotonic())


class ShiftedClock:
    """The machine's clock plus a shift that only grows; the trial page's clock."""

    def __init__(self, shift: timedelta = timedelta(0)) -> None:
        """``shift``: how far ahead of the machine's clock to start (may be negative)."""
        self._shift = shift

    def now(self) -> datetime:
        """The shifted moment, aware, in UTC."""
        return datetime.now(UTC) + self._shift

    def steady(self) -> datetime:
        """A moment to measure spans by; a jump of the clock is part of a span."""
        return BEGINNING + timedelta(seconds=time.monotonic()) + self._shift

    @property
    def shift(self) -> timedelta:
        """How far this clock is ahead of the machine's."""
        return self._shift

    def move_to(self, moment: datetime) -> None:
        """Jump to ``moment`` unless it is already past."""
        self._shift = max(self._shift, moment - datetime.now(UTC))


class ManualClock:
    """Stands still until it is moved; for histories made in one go and for tests."""

    def __init__(self, moment: datetime) -> None:
        """``moment``: aware, in UTC."""
        self._moment = moment

    def now(self) -> datetime:
        """The moment it was last moved to."""
        return self._moment

    def steady(self) -> datetime:
        """The same."""
        return self._moment

    def move_to(self, moment: datetime) -> None:
        """Jump to ``moment`` unless it is already past."""
        self._moment = max(self._moment, moment)
