"""Processing arrivals: in order within a chat, different chats side by side.

Arrivals are committed by :meth:`Engine.accept` before a channel tells its platform. What is not
worked off when the process dies is found again by :meth:`Engine.start`.
"""

import asyncio
import logging
from collections import deque
from collections.abc import Awaitable, Callable, Sequence
from concurrent.futures import ThreadPoolExecutor

from bot.clock import Clock
from bot.engine.conversation import Conversations
from bot.engine.turns import Turns
from bot.errors import StoreError, where_it_failed
from bot.messages import Incoming, IncomingKind
from bot.storage import inbox
from bot.storage.database import Database
from bot.storage.inbox import Waiting
from core.red_flags.reading import Reading
from core.vocabulary import TextLevel

log = logging.getLogger(__name__)

PAUSE_BEFORE_RETRY = 0.2
"""Seconds, doubled with each further try of the same row."""

LONGEST_PAUSE = 15.0
"""Seconds between two tries while the store fails."""

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
        self._enqueue(await self._database.run(inbox.accept, batch))

    async def settle(self) -> None:
        """Wait until all that was accepted is worked off."""
        while self._tasks:
            await asyncio.gather(*self._tasks)

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
            await self._work_off_row(lane[0])
            lane.popleft()
        del self._lanes[chat]

    async def _work_off_row(self, row: Waiting) -> None:
        """Try a row until it is done or set aside; it never blocks the next.

        While the store fails, nothing can be done or set aside: the row is tried until it answers.
        """
        pause = PAUSE_BEFORE_RETRY
        while not await self._is_over(row):
            await asyncio.sleep(pause)
            pause = min(2 * pause, LONGEST_PAUSE)
            fresh = await self._as_it_stands(row)
            if fresh is None:
                break
            row = fresh
        self._wake_sender()

    async def _is_over(self, row: Waiting) -> bool:
        """One try; True when the row is done or set aside."""
        try:
            await self._watched([row.incoming], self._in_turn(row))
        except Exception as error:  # noqa: BLE001 - one bad row must not stop the others
            log.error("inbox row %d failed: %s", row.id, where_it_failed(error))
            return await self._set_aside(row, error)
        return True

    async def _in_turn(self, row: Waiting) -> None:
        """Read the words for red flags, then let the conversation answer; a sign goes first."""
        reading = await self._read(row)
        urgent = reading is not None and reading.level is not TextLevel.NONE
        async with self._turns.turn(urgent=urgent):
            await self._database.run(self._conversations.handle, row, self._clock.now(), reading)

    async def _read(self, row: Waiting) -> Reading | None:
        """The reading, worked out beside the store, which others write to meanwhile."""
        if row.read or row.incoming.kind is not IncomingKind.TEXT:
            return None
        loop = asyncio.get_running_loop()
        read = self._conversations.reader.read
        return await loop.run_in_executor(self._reading, read, row.incoming.text)

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
