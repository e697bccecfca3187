"""What a coach has set for her own days: hours, days away, and which messages come when."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, time
from enum import StrEnum
from typing import Any

from core.slots import is_quiet

OFFICE_FROM, OFFICE_UNTIL, OFFICE_DAYS = "office_from", "office_until", "office_days"
AWAY_FROM, AWAY_UNTIL = "away_from", "away_until"
QUIET_FROM, WAYS, WAITING = "quiet_from", "ways", "waiting"
LISTED = "listed"
"""Key of what stood on the lists of late, each with its list: what never arrives waits again."""

OF_THE_OLD_COACH = ("coach_told", "hand_over_done")
"""These tell of clients who are not the coach's any more, and stay with her."""

LIST_AT = time(7, 0)
"""When the morning list comes where the coach has set nothing."""


class Way(StrEnum):
    """How a message reaches the coach: at once, with her morning list, or not at all."""

    NOW = "now"
    LIST = "list"
    OFF = "off"


class Notice(StrEnum):
    """What a coach is told of beside alerts and her list."""

    WORDS = "words"
    HEALTH = "health"
    JOINED = "joined"
    CLEARANCE = "clearance"
    TESTS = "tests"
    LETTERS = "letters"


WAYS_OF: Mapping[Notice, Sequence[Way]] = {
    Notice.WORDS: (Way.NOW,),
    Notice.HEALTH: (Way.NOW, Way.LIST),
    Notice.CLEARANCE: (Way.LIST, Way.NOW, Way.OFF),
    **dict.fromkeys(
        (Notice.JOINED, Notice.TESTS, Notice.LETTERS),
        (Way.NOW, Way.LIST, Way.OFF),
    ),
}
"""What a coach may choose, the usual first. A client's words are never off, nor is their health.

Each list names the clearances that end, so that a message of its own would say it twice.
"""

NOTICE_OF: Mapping[str, Notice] = {
    "menu/message_from_client": Notice.WORDS,
    "coach/health_changed": Notice.HEALTH,
    "coach/client_joined": Notice.JOINED,
    "coach/client_declined": Notice.JOINED,
    "coach/new_phone": Notice.JOINED,
    "coach/hand_over_done": Notice.JOINED,
    "coach/hand_over_declined": Notice.JOINED,
    "own_data/coach_told": Notice.JOINED,
    "coach/clearance_ends": Notice.CLEARANCE,
    "coach/test_result": Notice.TESTS,
    "coach/test_not_done": Notice.TESTS,
    "coach/letter_answer": Notice.LETTERS,
}
"""Template -> what it tells of. Alerts, and words about feeling unwell, are none of these."""


AT_ONCE = {notice.value: {"how": Way.NOW.value, "at": None, "today": True} for notice in Notice}
"""For the templates: all of it goes at once."""


@dataclass(frozen=True, slots=True)
class Waits:
    """Something that waits for a coach's list; ``what``: the name of its template.

    Attributes:
        list_failed: it stood on a list that her open chat did not get: it goes by itself now.
    """

    what: str
    client_id: int
    at: datetime
    list_failed: bool = False


@dataclass(frozen=True, slots=True)
class Desk:
    """A coach's own days, on her own clock; what is not set does not limit anything.

    Attributes:
        office_from, office_until: between them she reads messages; None: no hours are told.
        office_days: ISO weekdays of it.
        away_from, away_until: the first and the last day that she is away.
        quiet_from: from then until her list in the morning only alerts come; None: never quiet.
        list_at: when her list comes.
        ways: what she has chosen, where that is not the usual.
        waiting: what waits for her list, oldest first.
    """

    office_from: time | None = None
    office_until: time | None = None
    office_days: tuple[int, ...] = (1, 2, 3, 4, 5)
    away_from: date | None = None
    away_until: date | None = None
    quiet_from: time | None = None
    list_at: time = LIST_AT
    ways: Mapping[Notice, Way] = field(default_factory=dict)
    waiting: tuple[Waits, ...] = ()

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

    def is_quiet(self, local: datetime) -> bool:
        """Whether only alerts come now; ``local``: on the coach's clock."""
        return self.quiet_from is not None and is_quiet(local, self.quiet_from, self.list_at)

    def chosen(self, notice: Notice) -> Way:
        """What she has set for a kind of message."""
        return self.ways.get(notice, WAYS_OF[notice][0])

    def way(self, notice: Notice, local: datetime) -> Way:
        """How a message goes now. No list comes while she is away: nothing waits for it then."""
        chosen = self.chosen(notice)
        if chosen is Way.OFF or self.is_away(local.date()):
            return chosen if chosen is Way.OFF else Way.NOW
        return Way.LIST if self.is_quiet(local) else chosen


def desk_of(kept: Mapping[str, Any], list_at: time = LIST_AT) -> Desk:
    """From what is stored: times "HH:MM", days "YYYY-MM-DD", weekdays as numbers."""
    return Desk(
        office_from=_time(kept.get(OFFICE_FROM)),
        office_until=_time(kept.get(OFFICE_UNTIL)),
        office_days=tuple(kept.get(OFFICE_DAYS) or (1, 2, 3, 4, 5)),
        away_from=_day(kept.get(AWAY_FROM)),
        away_until=_day(kept.get(AWAY_UNTIL)),
        quiet_from=_time(kept.get(QUIET_FROM)),
        list_at=list_at,
        ways={Notice(one): Way(way) for one, way in (kept.get(WAYS) or {}).items()},
        waiting=tuple(waits_of(one) for one in kept.get(WAITING) or ()),
    )


def waits_of(kept: Mapping[str, Any]) -> Waits:
    """Something that waits, from what is stored."""
    at = datetime.fromisoformat(kept["at"])
    return Waits(kept["what"], kept["client"], at, bool(kept.get("list_failed")))


def _time(clock: str | None) -> time | None:
    return time.fromisoformat(clock) if clock else None


def _day(iso: str | None) -> date | None:
    return date.fromisoformat(iso) if iso else None
