"""When the sweeps run: APScheduler with a memory store and no state of its own.

The truth about what is due stands in the database; a tick that comes late loses nothing.
"""

import logging
from collections import deque
from collections.abc import Awaitable, Callable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime

from apscheduler.schedulers.asyncio import AsyncIOScheduler

from bot.clock import Clock
from bot.errors import StoreError, where_it_failed
from bot.storage.database import Database
from bot.storage.questions.due import next_due
from bot.storage.unit import UnitOfWork

log = logging.getLogger(__name__)

EVERY_SECONDS = 5
ROUNDS_AT_MOST = 200

Sweep = Callable[[UnitOfWork, datetime], int]


class Ticks:
    """Runs the sweeps every few seconds, and on demand."""

    def __init__(
        self,
        database: Database,
        clock: Clock,
        sweeps: Sequence[Sweep],
        wake_sender: Callable[[], None],
        earliest: Callable[[UnitOfWork], datetime | None] = next_due,
    ) -> None:
        """Nothing runs yet.

        Args:
            sweeps: each does a few due things at a moment, commits, and gives how many.
            earliest: when anything of the sweeps falls due; None means never.
        """
        self._database = database
        self._clock = clock
        self._sweeps = sweeps
        self._wake_sender = wake_sender
        self._earliest = earliest
        self._scheduler = AsyncIOScheduler(timezone=UTC)

    def start(self, *beside: Callable[[], Awaitable[None]]) -> None:
        """Begin; ``beside``: calls made once a minute (a heartbeat)."""
        plain = {"misfire_grace_time": None, "coalesce": True, "max_instances": 1}
        self._scheduler.add_job(self.tick, "interval", seconds=EVERY_SECONDS, **plain)
        for call in beside:
            self._scheduler.add_job(call, "interval", seconds=60, **plain)
        self._scheduler.start()

    def stop(self) -> None:
        """End; a sweep that is under way finishes."""
        if self._scheduler.running:
            self._scheduler.shutdown(wait=False)

    async def tick(self) -> None:
        """Do all that is due now."""
        try:
            now = self._clock.now()
            await self.catch_up(now)
            self._database.measures.swept_at = now
        except StoreError as error:
            log.error("the sweeps could not reach the store: %s", error)

    async def catch_up(self, now: datetime) -> None:
        """Do all that is due at ``now``, in the order of the sweeps, until nothing is left.

        Raises:
            StoreError: the database cannot be used.
        """
        due = await self._database.run(self._earliest)
        if due is None or due > now:
            return
        catching_up = _CatchUp(deque(self._sweeps), now)
        while catching_up.left:
            try:
                if await self._database.run(catching_up.work):
                    self._wake_sender()
            except StoreError:
                raise
            except Exception as error:  # noqa: BLE001 - one sweep's fault must not stop the others
                log.error("a sweep failed: %s", where_it_failed(error))
                catching_up.go_on()


@dataclass(slots=True)
class _CatchUp:
    """One pass over the sweeps.

    Attributes:
        left: those that may still find something due, in order.
        rounds: how often the first of them has found something.
    """

    left: deque[Sweep]
    now: datetime
    rounds: int = 0

    def work(self, unit: UnitOfWork) -> bool:
        """Ask the sweeps in order until one has done something; whether one has.

        It ends there, so that other work gets to the store: an idle sweep costs one question.
        """
        while self.left:
            if self.left[0](unit, self.now):
                self.rounds += 1
                if self.rounds == ROUNDS_AT_MOST:
                    self.go_on()
                return True
            self.go_on()
        return False

    def go_on(self) -> None:
        """Leave the first sweep be."""
        self.left.popleft()
        self.rounds = 0
