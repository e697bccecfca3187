"""A clock that went ahead and was put back: what was set meanwhile would come that much later.

Nobody would chase an alert, and nobody be asked in the morning, until the clock has caught up.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta

from bot.clock import Clock
from bot.schedule.due import reschedule
from bot.storage.questions.far_off import hurry_far_off, waiting_too_long
from bot.storage.unit import UnitOfWork

NOTICED_FROM = timedelta(minutes=1)
"""A clock is set right by less than this all the time."""


@dataclass(slots=True)
class PutBack:
    """Looks after moments that are too far ahead, each time it is asked.

    Attributes:
        clock: it is compared with its own steady time.
    """

    clock: Clock
    _ahead: timedelta | None = None

    def bring_nearer(self, unit: UnitOfWork) -> int:
        """Set anew what is due too late; commits, and gives how much that was."""
        now, before = self.clock.now(), self._ahead
        self._ahead = now - self.clock.steady()
        went_back = before is not None and self._ahead < before - NOTICED_FROM
        return _bring_nearer(unit, now, went_back=went_back)


def _bring_nearer(unit: UnitOfWork, now: datetime, *, went_back: bool) -> int:
    count = hurry_far_off(unit, now, all_open=went_back)
    for person_id in waiting_too_long(unit, now):
        reschedule(unit, person_id, now)
        count += 1
    if count:
        unit.commit()
    return count
