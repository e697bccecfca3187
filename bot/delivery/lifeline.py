"""The one path that needs no store, used only when the store fails or hangs.

A text with a warning sign still gets its advice at once, straight through the channel, and the
coach is tried directly. What arrived is kept in the spool and put into the inbox at the next good
moment, where it is answered in the usual way: then people hear of it a second time.
"""

import asyncio
import contextlib
import logging
from collections import OrderedDict
from collections.abc import Awaitable, Callable, Mapping, Sequence
from datetime import datetime, timedelta
from typing import Any, TypeVar

from bot.clock import Clock
from bot.delivery.channel import Accept, Channel
from bot.delivery.lifeline_words import LifelineWords
from bot.delivery.spool import Spool
from bot.errors import DeliveryError, Rejected, StoreError, Unreachable, where_it_failed
from bot.flows.safety.shared_phone import TOLD_QUIETLY
from bot.messages import TYPED, Incoming, Outgoing
from bot.storage import inbox
from bot.storage.database import Database
from bot.storage.directory import Directory, Listed, load_directory, watch_directory
from bot.storage.people import Address
from core.red_flags.reading import Reading
from core.vocabulary import Role, TextLevel

SLOW_AFTER = 1.0
"""Time-out of a call to the store, in seconds; after it the store counts as failing."""

MOST_WAITS = 4
"""Time-outs that queued work may last while other work completes: a long queue is no fault."""

TRIES = 6
FIRST_PAUSE = 0.5
"""Attempts to send a message directly, and the first pause in seconds (exponential backoff)."""

TROUBLE_EVERY = timedelta(minutes=10)
"""How often at most a chat is told that there is a fault."""

REFRESH_EVERY = 30.0
"""Seconds after which the directory is read again although nothing is known to have changed."""

REPLAY_EVERY = 5.0
REFRESH_AFTER = 1.0
"""Seconds between attempts to replay the spool; shortest time between two directory refreshes."""

MOST_HELPED = 10_000
"""Size of the list of arrivals already answered directly; a repeat is not answered again."""

Result = TypeVar("Result")

logger = logging.getLogger(__name__)


class Lifeline:
    """Accepts arrivals into the store, or spools and answers them while the store fails."""

    def __init__(
        self,
        database: Database,
        channels: Mapping[str, Channel],
        clock: Clock,
        *,
        accept: Accept,
        read: Callable[[str], Reading],
        words: LifelineWords,
        spool: Spool | None,
        slow_after: float = SLOW_AFTER,
    ) -> None:
        """Nothing is started yet.

        Args:
            accept: puts a batch into the store.
            read: the red-flag reader.
            spool: ``None`` where nothing may be kept, since there is no store or no key: then only
                warning signs are answered, and nothing is confirmed to the platform.
            slow_after: time-out of a call to the store, in seconds.
        """
        self._database = database
        self._channels = channels
        self._clock = clock
        self._accept = accept
        self._read = read
        self._words = words
        self._spool = spool
        self._keeps = True
        self._slow_after = slow_after
        self._directory = Directory()
        self._helped: OrderedDict[tuple[str, str], None] = OrderedDict()
        self._troubled: dict[Address, datetime] = {}
        self._tasks: set[asyncio.Task[None]] = set()
        self._stale = asyncio.Event()
        self._stale.set()
        self._failing = False
        self._works_done = 0
        self._answers_again = asyncio.Event()

    @property
    def in_use(self) -> bool:
        """Whether the store has failed and has not taken a batch since."""
        return self._failing

    async def accept(self, batch: Sequence[Incoming]) -> None:
        """Put a batch on the disk, in the store or else in the spool.

        Once the store has failed, the spool takes everything until a replay succeeds: nobody waits
        for a store that hangs.

        Raises:
            StoreError: neither can be written; warning signs have been answered all the same.
        """
        task = None
        if not self._failing:
            task = asyncio.ensure_future(self._accept(batch))
            in_time = await self._in_time(task)
            error = task.exception() if in_time else StoreError("no answer")
            if error is None:
                self._works_done += 1
                return
            if self._spool is not None:
                logger.error("the store fails or hangs: arrivals are spooled: %s", _named(error))
            self._failing = True
        self._help(batch)
        spooled = self._spooled(batch)
        for incoming in batch:
            self._tell_of_trouble(incoming, stored=spooled)
        if task is not None:
            # It may still succeed; the replay is idempotent and then changes nothing.
            task.add_done_callback(self._answered_late)
        if not spooled:
            raise StoreError("neither the store nor the spool can be written")

    async def watched(self, batch: Sequence[Incoming], work: Awaitable[Result]) -> Result:
        """Do ``work`` in the store for a batch; when it fails or hangs, help these people directly.

        Raises what ``work`` does.
        """
        task = asyncio.ensure_future(work)
        if not await self._in_time(task):
            self._help(batch)
        try:
            result = await task
        except Exception:
            self._help(batch)
            raise
        self._works_done += 1
        return result

    async def _in_time(self, task: asyncio.Future[Any]) -> bool:
        """Whether work in the store ends in time; it has longer while other work completes."""
        for _ in range(MOST_WAITS):
            done_before = self._works_done
            await asyncio.wait({task}, timeout=self._slow_after)
            if task.done() or self._works_done == done_before:
                break
        return task.done()

    def keep_nothing(self) -> None:
        """From now on nothing that arrives is kept, or confirmed to the platform."""
        self._spool = None

    def keep(self, keeps: bool) -> None:
        """Whether what the store does not take is kept in the spool, and so confirmed."""
        self._keeps = keeps

    async def run(self, stop: asyncio.Event) -> None:
        """Keep the directory fresh and replay what is spooled, until ``stop`` is set."""
        if self._spool is None:
            await stop.wait()
            return
        loop = asyncio.get_running_loop()

        def changed() -> None:
            loop.call_soon_threadsafe(self._stale.set)

        unwatch = watch_directory(self._database, changed)
        stopping = asyncio.create_task(stop.wait())
        duties = [
            asyncio.create_task(self._keep_fresh()),
            asyncio.create_task(self._keep_replaying()),
        ]
        try:
            await asyncio.wait({stopping, *duties}, return_when=asyncio.FIRST_COMPLETED)
        finally:
            unwatch()
            for task in (stopping, *duties):
                task.cancel()
            await asyncio.gather(stopping, *duties, return_exceptions=True)

    async def settle(self) -> None:
        """Wait until every direct message has been sent or given up."""
        while self._tasks:
            await asyncio.wait(self._tasks)

    async def refresh(self) -> None:
        """Read the directory now.

        Raises:
            StoreError: the store cannot be read; the old directory stays.
        """
        self._directory = await self._database.read(load_directory)

    async def replay(self) -> None:
        """Put what is spooled into the store.

        Raises:
            StoreError: that fails still; it stays spooled.
        """
        if self._failing:
            await self._database.run(inbox.try_to_write)
        spool = self._spool
        while spool is not None and not spool.empty:
            batch = spool.claim()
            await self._accept_each(batch, spool)
            spool.done()
            logger.warning("%d spooled arrivals are in the store now", len(batch))
        self._failing = False
        self._troubled.clear()

    async def _accept_each(self, batch: Sequence[Incoming], spool: Spool) -> None:
        """Put a batch into the store; one that it never takes does not keep the others out."""
        try:
            await self._accept(batch)
        except StoreError:
            raise
        except Exception:  # noqa: BLE001 - found out below, one by one
            for incoming in batch:
                await self._accept_or_set_aside(incoming, spool)

    async def _accept_or_set_aside(self, incoming: Incoming, spool: Spool) -> None:
        try:
            await self._accept([incoming])
        except StoreError:
            raise
        except Exception as error:  # noqa: BLE001 - whatever it is, the next one must get in
            # Tell a bad arrival from a store that accepts nothing.
            await self._database.run(inbox.try_to_write)
            logger.critical("a spooled arrival is set aside: %s", where_it_failed(error))
            spool.set_aside(incoming)

    async def _keep_fresh(self) -> None:
        while True:
            # Commands of the operator change it from another process, which nobody hears of.
            with contextlib.suppress(TimeoutError):
                async with asyncio.timeout(REFRESH_EVERY):
                    await self._stale.wait()
            self._stale.clear()
            try:
                await self.refresh()
            except Exception:  # noqa: BLE001 - the old directory stays, and it is tried again
                self._stale.set()
            await asyncio.sleep(REFRESH_AFTER)

    async def _keep_replaying(self) -> None:
        while True:
            try:
                await self.replay()
            except Exception as error:  # noqa: BLE001 - it is tried again as long as we live
                logger.error("the spool waits: %s", _named(error))
            with contextlib.suppress(TimeoutError):
                async with asyncio.timeout(REPLAY_EVERY):
                    await self._answers_again.wait()
            self._answers_again.clear()

    def _spooled(self, batch: Sequence[Incoming]) -> bool:
        if self._spool is None or not self._keeps:
            return False
        try:
            self._spool.add(batch)
        except StoreError as error:
            logger.critical("nothing can be kept: %s", error)
            return False
        return True

    def _help(self, batch: Sequence[Incoming]) -> None:
        """Answer the warning signs of a batch directly, each once."""
        for incoming in batch:
            if incoming.kind in TYPED and self._first_time(incoming):
                try:
                    self._help_one(incoming)
                except Exception as error:  # noqa: BLE001 - the others must be helped all the same
                    logger.critical("help could not be given: %s", where_it_failed(error))

    def _help_one(self, incoming: Incoming) -> None:
        reading = self._read(incoming.text)
        if reading.level is not TextLevel.NONE:
            self._answer_sign(incoming, reading)

    def _first_time(self, incoming: Incoming) -> bool:
        key = (incoming.channel, incoming.update_id)
        if key in self._helped:
            return False
        self._helped[key] = None
        if len(self._helped) > MOST_HELPED:
            self._helped.popitem(last=False)
        return True

    def _answer_sign(self, incoming: Incoming, reading: Reading) -> None:
        at = Address(incoming.channel, incoming.address)
        person = self._directory.likely_speaker(at)
        recipients = self._recipients_for(person)
        coach = recipients[0].name if recipients else ""
        self._start(self._deliver([at], self._words.advice(reading, person, coach)))
        # The advice says more than the notice of a fault would.
        self._troubled[at] = self._clock.steady()
        clients = self._directory.clients(at)
        # Nobody knows here which client of a shared phone wrote it. What others on that phone must
        # not learn of is told once, as with a store (bot.flows.safety.shared_phone).
        quietly = bool(TOLD_QUIETLY.intersection(reading.signs))
        for client in clients[:1] if quietly or reading.for_other else clients:
            shared = len(clients) > 1 and not reading.for_other
            outgoing = self._words.for_coach(reading, client, incoming.text, shared=shared)
            self._start(self._tell_first_reached(self._recipients_for(client), outgoing))

    def _recipients_for(self, person: Listed | None) -> list[Listed]:
        """Who hears of a client's warning signs, in order; nobody about a coach or a stranger."""
        if person is None or person.role is not Role.CLIENT:
            return []
        persons = self._directory.persons
        return [persons[one] for one in person.recipients if one in persons]

    def _tell_of_trouble(self, incoming: Incoming, *, stored: bool) -> None:
        """Say that there is a fault, but not with every message."""
        at, now = Address(incoming.channel, incoming.address), self._clock.steady()
        told_at = self._troubled.get(at)
        if told_at is not None and now - told_at < TROUBLE_EVERY:
            return
        self._troubled[at] = now
        person = self._directory.likely_speaker(at)
        self._start(self._deliver([at], self._words.trouble(person, stored=stored)))

    async def _tell_first_reached(self, recipients: Sequence[Listed], outgoing: Outgoing) -> None:
        for listed in recipients:
            if await self._reaches(listed.chats, outgoing):
                return
        logger.critical("a warning sign reached nobody while the store fails")

    async def _deliver(self, chats: Sequence[Address], outgoing: Outgoing) -> None:
        if not await self._reaches(chats, outgoing):
            logger.critical("advice could not be given while the store fails")

    async def _reaches(self, chats: Sequence[Address], outgoing: Outgoing) -> bool:
        """Whether at least one of these chats got the message; all are tried."""
        reached = await asyncio.gather(*(self._reaches_one(at, outgoing) for at in chats))
        return any(reached)

    async def _reaches_one(self, at: Address, outgoing: Outgoing) -> bool:
        channel, pause = self._channels.get(at.channel), FIRST_PAUSE
        if channel is None:
            return False
        for _ in range(TRIES):
            try:
                await channel.send(at.address, outgoing)
            except (Rejected, Unreachable):
                return False
            except DeliveryError:
                await asyncio.sleep(pause)
                pause *= 2
            else:
                return True
        return False

    def _answered_late(self, task: asyncio.Future[None]) -> None:
        """The store was only slow: what is spooled need not wait for the next try."""
        if not task.cancelled() and task.exception() is None:
            self._answers_again.set()

    def _start(self, work: Awaitable[None]) -> None:
        task = asyncio.ensure_future(work)
        self._tasks.add(task)
        task.add_done_callback(self._tasks.discard)


def _named(error: BaseException) -> str:
    """A store's fault in its own words; any other by its kind and place."""
    return str(error) if isinstance(error, StoreError) else where_it_failed(error)
