"""Processing arrivals: in order within a chat, different chats side by side.

Arrivals are committed by :meth:`Engine.accept` before a channel tells its platform. What is not
worked off when the process dies is found again by :meth:`Engine.start`.
"""

import asyncio
import logging
from collections import deque
from collections.abc import Awaitable, Callable, Collection, Sequence
from concurrent.futures import ThreadPoolExecutor
from datetime import datetime

from bot.clock import Clock
from bot.engine.burst import (
    READ_AT_ONCE,
    SKIMMED_AT_ONCE,
    BurstState,
    is_burst,
    is_loud,
)
from bot.engine.conversation import Conversations
from bot.engine.turns import Turns
from bot.errors import StoreAway, StoreError, where_it_failed
from bot.measures import Counted, Timed
from bot.messages import TYPED, Incoming
from bot.storage import inbox
from bot.storage.database import Database
from bot.storage.inbox import Waiting
from bot.storage.unit import UnitOfWork
from core.red_flags.reading import Reading
from core.vocabulary import TextLevel

log = logging.getLogger(__name__)

PAUSE_BEFORE_RETRY = 0.2
"""Seconds, doubled with each further try of the same row."""

LONGEST_PAUSE = 15.0
"""Seconds between two tries while the store fails."""

OUTAGES = 20
"""Tries of a row, some four minutes, in which what comes and goes is waited for. Only after that
does such a fault count against the row: a sign must not be set aside for three lost connections."""

COMES_AND_GOES = (StoreAway, OSError, ImportError)
"""Faults of the machine and not of the row: the store, a file or a part of the program that cannot
be read just now (too many open files, a disk, an upgrade that replaces them)."""

AT_ONCE = 2
"""Rows processed concurrently. More would only queue in the store, and delay new arrivals and the
sender."""

Chat = tuple[str, str]
Watched = Callable[[Sequence[Incoming], Awaitable[None]], Awaitable[None]]


class Engine:
    """Takes arrivals from channels and lets the conversations answer them."""

    def __init__(
        self,
        database: Database,
        clock: Clock,
        conversations: Conversations,
        wake_sender: Callable[[], None],
        watched: Watched,
    ) -> None:
        """Nothing is started yet.

        Args:
            wake_sender: called after each commit that may have put messages out.
            watched: does work in the store for a batch, and helps its people when that fails.
        """
        self._database = database
        self._clock = clock
        self._conversations = conversations
        self._wake_sender = wake_sender
        self._watched = watched
        self._lanes: dict[Chat, deque[Waiting]] = {}
        self._tasks: set[asyncio.Task[None]] = set()
        self._turns = Turns(AT_ONCE)
        self._reading = ThreadPoolExecutor(1, thread_name_prefix="red-flags")
        self._started = False

    @property
    def started(self) -> bool:
        """Whether arrivals are taken."""
        return self._started

    async def start(self) -> None:
        """Take up what an earlier process accepted and did not work off."""
        waiting = await self._database.run(inbox.waiting)
        # What is accepted before this is known would be taken up twice.
        self._started = True
        self._enqueue(waiting)

    async def accept(self, batch: Sequence[Incoming]) -> None:
        """Put a batch on the disk; it is worked off soon after.

        Raises:
            StoreError: the store fails, or has not been opened yet; nothing of the batch is
                accepted.
        """
        if not self._started:
            raise StoreError("the store has not been opened yet")
        new = await self._database.run(inbox.accept, batch)
        for row in new:
            arrived = row.incoming
            self._database.measures.count(Counted.ARRIVALS, arrived.channel, arrived.kind.value)
        self._enqueue(new)

    async def settle(self) -> None:
        """Wait until all that was accepted is worked off."""
        while self._tasks:
            await asyncio.gather(*self._tasks)

    async def abandon(self) -> None:
        """Leave what is not worked off to the next start: it waits in the store."""
        tasks = list(self._tasks)
        for task in tasks:
            task.cancel()
        await asyncio.gather(*tasks, return_exceptions=True)

    def _enqueue(self, rows: Sequence[Waiting]) -> None:
        for row in rows:
            chat = (row.incoming.channel, row.incoming.address)
            lane = self._lanes.get(chat)
            if lane is not None:
                lane.append(row)
                continue
            self._lanes[chat] = deque([row])
            task = asyncio.create_task(self._work_off(chat))
            self._tasks.add(task)
            task.add_done_callback(self._tasks.discard)

    async def _work_off(self, chat: Chat) -> None:
        lane = self._lanes[chat]
        while lane:
            if is_burst(lane):
                await self._work_off_burst(lane)
                continue
            await self._work_off_row(lane[0])
            lane.popleft()
        del self._lanes[chat]

    async def _work_off_burst(self, lane: deque[Waiting]) -> None:
        """Answer the signs of a burst first, and all else together; what comes meanwhile is in it.

        The lane stays in place, so that what comes is put into it. Whoever writes on and on, faster
        than anybody reads, ends no burst by it: it is answered in parts.
        """
        burst = BurstState()
        while burst.second or (lane and not burst.is_long):
            if lane and not burst.is_long:
                # What has come just now may be a sign: before anything takes long.
                fresh = [lane.popleft() for _ in range(min(len(lane), SKIMMED_AT_ONCE))]
                texts = [row for row in fresh if burst.sort(row)]
                skimmed = await self._read_all(texts, self._conversations.reader.skim)
                signs = [row for row, reading in skimmed if is_loud(reading)]
                burst.second += [row for row in texts if row not in signs]
            else:
                signs, burst.second = burst.second[:READ_AT_ONCE], burst.second[READ_AT_ONCE:]
            await self._look_at(burst, signs)
        if burst.together:
            *before, last = burst.together
            await self._work_off_row(last, before)
        for row in burst.apart:
            await self._work_off_row(row)

    async def _look_at(self, burst: BurstState, rows: Sequence[Waiting]) -> None:
        """Read some texts of a burst as any text is read; answer what is new among their signs."""
        quiet, passed_over = [], []
        for row, reading in await self._read_all(rows, self._conversations.reader.read):
            if not is_loud(reading):
                quiet.append((row, reading))
            elif burst.is_news(reading):
                await self._work_off_row(row)
            else:
                burst.together.append(row)
                if burst.adds_signs(reading):
                    passed_over.append((row, reading))
        if passed_over:
            await self._kept_trying(self._conversations.add_signs, passed_over)
        if not quiet:
            return
        answered = await self._kept_trying(self._conversations.look_for_alarms, quiet)
        burst.together += [row for row, _ in quiet if row.id not in answered]

    async def _read_all(
        self, rows: Sequence[Waiting], read: Callable[[str], Reading]
    ) -> Sequence[tuple[Waiting, Reading]]:
        """Texts with their readings, read in one go beside the store."""

        def read_them() -> list[Reading]:
            return [self._timed(read, row.incoming.text) for row in rows]

        loop = asyncio.get_running_loop()
        return list(zip(rows, await loop.run_in_executor(self._reading, read_them), strict=True))

    async def _kept_trying(
        self,
        look: Callable[[UnitOfWork, Sequence[tuple[Waiting, Reading]], datetime], Collection[int]],
        read: Sequence[tuple[Waiting, Reading]],
    ) -> Collection[int]:
        """What texts of a burst hold beside answers, tried until the store answers."""
        pause = PAUSE_BEFORE_RETRY
        while True:
            try:
                async with self._turns.turn(urgent=False):
                    return await self._database.run(look, read, self._clock.now())
            except StoreError:
                await asyncio.sleep(pause)
                pause = min(2 * pause, LONGEST_PAUSE)
            except Exception as error:  # noqa: BLE001 - they are still answered together
                log.error("texts of a burst: %s", where_it_failed(error))
                return ()

    async def _work_off_row(self, row: Waiting, before: Sequence[Waiting] = ()) -> None:
        """Try a row until it is done or set aside; it never blocks the next.

        While the store fails, nothing can be done or set aside: the row is tried until it answers.

        Args:
            before: texts before it, which are answered with it.
        """
        pause, tries = PAUSE_BEFORE_RETRY, 1
        while not await self._is_over(row, before, waits=tries < OUTAGES):
            tries += 1
            await asyncio.sleep(pause)
            pause = min(2 * pause, LONGEST_PAUSE)
            fresh = await self._as_it_stands(row)
            if fresh is None:
                break
            row = fresh
        self._wake_sender()

    async def _is_over(self, row: Waiting, before: Sequence[Waiting], *, waits: bool) -> bool:
        """One try; True when the row is done or set aside.

        Args:
            waits: what comes and goes does not count against the row.
        """
        try:
            await self._watched([row.incoming], self._in_turn(row, before))
        except Exception as error:  # noqa: BLE001 - one bad row must not stop the others
            log.error("inbox row %d failed: %s", row.id, where_it_failed(error))
            if waits and isinstance(error, COMES_AND_GOES):
                return False
            over = await self._set_aside(row, error)
            for one in before if over else ():
                # Without the one they would be answered with, each has its own try.
                await self._work_off_row(one)
            return over
        return True

    async def _in_turn(self, row: Waiting, before: Sequence[Waiting]) -> None:
        """Read the words for red flags, then let the conversation answer; a sign goes first."""
        if before:
            async with self._turns.turn(urgent=False):
                await self._database.run(
                    self._conversations.handle_together, [*before, row], self._clock.now()
                )
            return
        reading = await self._read(row)
        urgent = reading is not None and reading.level is not TextLevel.NONE
        async with self._turns.turn(urgent=urgent):
            await self._database.run(self._conversations.handle, row, self._clock.now(), reading)

    async def _read(self, row: Waiting) -> Reading | None:
        """The reading, worked out beside the store, which others write to meanwhile."""
        if row.read or row.incoming.kind not in TYPED:
            return None
        loop = asyncio.get_running_loop()
        read = self._conversations.reader.read
        return await loop.run_in_executor(self._reading, self._timed, read, row.incoming.text)

    def _timed(self, read: Callable[[str], Reading], text: str) -> Reading:
        with self._database.measures.timing(Timed.READER):
            return read(text)

    async def _set_aside(self, row: Waiting, error: Exception) -> bool:
        """Count the failure; True when no further try is made. An apology goes out, once."""
        final = False
        try:
            final = await self._database.run(inbox.mark_failure, row.id, where_it_failed(error))
            if final:
                await self._database.run(self._conversations.apologise, row, self._clock.now())
        except Exception as second:  # noqa: BLE001 - the row must not stop the others either
            log.error("inbox row %d: %s", row.id, where_it_failed(second))
        return final

    async def _as_it_stands(self, row: Waiting) -> Waiting | None:
        """The row read again, after its red-flag transaction; None when it was erased."""
        try:
            return await self._database.run(inbox.stored, row.id)
        except Exception:  # noqa: BLE001 - whatever it is, the chat must not stop here for good
            return row
