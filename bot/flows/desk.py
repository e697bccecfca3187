"""What a coach has set for her own days: office hours and the days that she is away."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, time
from typing import Any

OFFICE_FROM, OFFICE_UNTIL, OFFICE_DAYS = "office_from", "office_until", "office_days"
AWAY_FROM, AWAY_UNTIL = "away_from", "away_until"


@dataclass(frozen=True, slots=True)
class Desk:
    """A coach's own days, on her own clock; what is not set does not limit anything.

    Attributes:
        office_from, office_until: between them she reads messages; None: no hours are told.
        office_days: ISO weekdays of it.
        away_from, away_until: the first and the last day that she is away.
    """

    office_from: time | None = None
    office_until: time | None = None
    office_days: tuple[int, ...] = (1, 2, 3, 4, 5)
    away_from: date | None = None
    away_until: date | None = None

    @property
    def has_hours(self) -> bool:
        """Whether clients are told office hours."""
        return self.office_from is not None and self.office_until is not None

    def is_open(self, local: datetime) -> bool:
        """Whether messages are read now; ``local``: on the coach's clock."""
        if self.office_from is None or self.office_until is None:
            return True
        inside = self.office_from <= local.time() < self.office_until
        return inside and local.isoweekday() in self.office_days

    def is_away(self, day: date) -> bool:
        """Whether she is away on a day of her own calendar."""
        if self.away_from is None or self.away_until is None:
            return False
        return self.away_from <= day <= self.away_until


def desk_of(kept: Mapping[str, Any]) -> Desk:
    """From what is stored: times "HH:MM", days "YYYY-MM-DD", weekdays as numbers."""
    return Desk(
        office_from=_time(kept.get(OFFICE_FROM)),
        office_until=_time(kept.get(OFFICE_UNTIL)),
        office_days=tuple(kept.get(OFFICE_DAYS) or (1, 2, 3, 4, 5)),
        away_from=_day(kept.get(AWAY_FROM)),
        away_until=_day(kept.get(AWAY_UNTIL)),
    )


def _time(clock: str | None) -> time | None:
    return time.fromisoformat(clock) if clock else None


def _day(iso: str | None) -> date | None:
    return date.fromisoformat(iso) if iso else None
