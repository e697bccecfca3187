"""The composition root: everything is built here, started in order and stopped in reverse."""

import asyncio
import contextlib
import logging
from collections.abc import Awaitable, Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from functools import partial

from bot.alerts.escalation import AlertRounds
from bot.alerts.undelivered import Corrections
from bot.clock import Clock
from bot.delivery.channel import Accept, Channel
from bot.delivery.lifeline import SLOW_AFTER, Lifeline
from bot.delivery.lifeline_words import LifelineWords
from bot.delivery.pacing import PacingLimits
from bot.delivery.sender import Sender
from bot.delivery.spool import Spool
from bot.engine.conversation import Conversations
from bot.engine.engine import Engine
from bot.engine.speaking import Post, TurnServices
from bot.errors import SettingsError, StoreError, StoreNewer, where_it_failed
from bot.flows.routing.registry import CALLBACK_HANDLERS, FLOWS
from bot.invitation_codes import code_hash
from bot.letters.letters import Letters
from bot.pictures.requests import PictureRequests
from bot.pictures.store import PictureStore
from bot.reference.reference import Loaded, load_all
from bot.runtime.contents import Contents
from bot.schedule.due import DueWork, reschedule
from bot.schedule.put_back import PutBack
from bot.schedule.ticks import Ticks
from bot.settings import Settings
from bot.storage import inbox
from bot.storage.database import Database
from bot.storage.encryption import Encryption
from bot.storage.erasing.erased import Erased
from bot.storage.erasing.erasures import ERASURES, ErasureList
from bot.storage.people import Address
from bot.storage.questions.due import next_due
from core.vocabulary import PersonId

log = logging.getLogger(__name__)

SPOOL = "spool"
"""File in the data folder that keeps arrivals while the store fails."""

SETTLE_WITHIN = 2.5
"""Seconds that arrivals in hand get to be worked off when the process stops."""

OPENED_WITHIN = 10.0
"""Seconds after which a start no longer waits for a store that is being opened: bringing an older
one up can take minutes, and meanwhile warning signs are answered without it."""

OPEN_AGAIN_AFTER = 1.0
"""Seconds between two tries to open a store that could not be used at the start."""

PROBED_WITHIN = 1.5
"""Seconds after which a store that does not answer counts as failing; a monitor waits for two."""

SMALLEST_STEP = timedelta(seconds=1)
"""A jump of the clock goes at least this far between two due moments."""


@dataclass(slots=True)
class App:
    """The running program, whatever its channels.

    Attributes:
        missing: what the place lacks, the store or its key (see :mod:`bot.runtime.place`). Then no
            store is opened, and only warning signs are answered.
    """

    settings: Settings
    clock: Clock
    database: Database
    loaded: Loaded
    engine: Engine
    sender: Sender
    ticks: Ticks
    due: DueWork
    rounds: AlertRounds
    contents: Contents
    pictures: PictureStore
    spool: Spool
    channels: Mapping[str, Channel]
    lifeline: Lifeline
    put_back: PutBack
    missing: str = ""
    _stop: asyncio.Event = field(default_factory=asyncio.Event)
    _sending: asyncio.Task[None] | None = None
    _lifeline: asyncio.Task[None] | None = None
    _opening: asyncio.Task[None] | None = None
    _probing: asyncio.Task[None] | None = None

    async def start(self) -> None:
        """Open the store, take up what waits, and begin to send and to sweep.

        A store that is there but cannot be used just now, or takes long to be brought up, is opened
        as soon as it can be; until then warning signs are answered without it.

        Raises:
            SettingsError: the records were sealed with another key.
            StoreError: there is no store, or it is a newer program's.
        """
        if self.missing:
            log.critical("%s", self.missing)
            self._lifeline = asyncio.create_task(self.lifeline.run(self._stop))
            return
        opening = asyncio.create_task(self._open_store())
        await asyncio.wait({opening}, timeout=OPENED_WITHIN)
        try:
            if opening.done():
                opening.result()
            else:
                log.critical("the store is not open yet: it is being brought up")
                await self._go_on_without(opening)
        except StoreNewer:
            raise
        except StoreError as error:
            if not self.database.is_there:
                raise
            log.critical("the store cannot be opened yet: %s", error)
            await self._go_on_without(None)
        self._lifeline = asyncio.create_task(self.lifeline.run(self._stop))

    async def _go_on_without(self, opening: asyncio.Task[None] | None) -> None:
        """Let people be answered without the store until it is open."""
        # Whom signs are told to: a store that cannot be written can often be read, if at once.
        with contextlib.suppress(Exception):
            await asyncio.wait_for(self.lifeline.refresh(), OPEN_AGAIN_AFTER)
        self._opening = asyncio.create_task(self._open_later(opening))

    async def _open_store(self) -> None:
        """Open it and set to work in it; nothing sends or sweeps in a store that is not open."""
        await asyncio.to_thread(self.database.upgrade)
        await asyncio.to_thread(self.database.renew_chats)
        await asyncio.to_thread(self._seal_files)
        await self.engine.start()
        self._sending = asyncio.create_task(self.sender.run(self._stop))
        self.ticks.start(self.mind_the_clock)

    def _seal_files(self) -> None:
        """Pictures of an older version are sealed, and files of an older key are sealed anew."""
        try:
            self.pictures.seal_anew()
            if len(self.database.encryption.names) > 1:
                self.spool.seal_anew()
        except (OSError, StoreError) as error:
            log.error("files cannot be sealed anew: %s", where_it_failed(error))

    async def _open_later(self, opening: asyncio.Task[None] | None) -> None:
        while not self._stop.is_set():
            try:
                if opening is None:
                    await asyncio.sleep(OPEN_AGAIN_AFTER)
                    await self._open_store()
                else:
                    begun, opening = opening, None
                    await begun
            except (StoreNewer, SettingsError) as error:
                # Somebody must act; until then people are still answered without the store.
                log.critical("the store cannot be opened: %s", error)
                if isinstance(error, SettingsError):
                    # What another key seals would be lost to the one that fits.
                    self.lifeline.keep_nothing()
                return
            except StoreError:
                continue
            except Exception as error:  # noqa: BLE001 - whatever it is, it is tried again
                log.critical("the store cannot be opened: %s", where_it_failed(error))
                continue
            log.warning("the store is open now")
            return

    async def mind_the_clock(self) -> None:
        """Bring nearer what was set by a clock that went ahead and was put back."""
        try:
            count = await self.database.run(self.put_back.bring_nearer)
        except StoreError as error:
            log.error("the clock cannot be minded: %s", error)
            return
        if count:
            log.warning("the clock was put back: %d moments were brought nearer", count)
            await self.ticks.tick()

    async def stop(self) -> None:
        """Finish what is in hand, in reverse order; what waits stays in the store."""
        self.ticks.stop()
        try:
            async with asyncio.timeout(SETTLE_WITHIN):
                await self.engine.settle()
        except TimeoutError:
            log.warning("stopped while messages were still being worked off")
        await self.engine.abandon()
        self._stop.set()
        if self._opening is not None:
            self._opening.cancel()
            await asyncio.gather(self._opening, return_exceptions=True)
        for task in (self._sending, self._lifeline):
            if task is not None:
                await task
        if self._probing is not None:
            await asyncio.gather(self._probing, return_exceptions=True)
        await asyncio.to_thread(self.database.close)

    async def settle(self) -> None:
        """Work off and send all that is due now."""
        await self.engine.settle()
        await self.ticks.catch_up(self.clock.now())
        await self.sender.drain(self.clock.now())

    async def visit_until(
        self, to: datetime, move: Callable[[datetime], None], seen: Callable[[], None]
    ) -> None:
        """Move the clock to ``to``, stopping at each due moment on the way, in order.

        Args:
            move: moves the clock.
            seen: called after each stop (a progress bar, a bell).
        """
        await self.settle()
        while True:
            due = await self.database.run(next_due)
            if due is None or due > to:
                break
            move(max(due, self.clock.now() + SMALLEST_STEP))
            await self.settle()
            seen()
        move(to)
        await self.settle()

    async def on_unreachable(self, _at: Address, persons: Sequence[PersonId]) -> None:
        """A chat is closed: alerts that it was told of go on to the next person at once."""
        log.error("the chat of person %s cannot be reached", ", ".join(map(str, persons)))
        await self.database.run(self.rounds.chase_due, self.clock.now())
        self.sender.wake()

    async def healthy(self) -> bool:
        """Whether the store takes changes and what arrives, and the sender is at work.

        It answers in :data:`PROBED_WITHIN` seconds whatever the store does: one that hangs is asked
        once, however often it is looked at.
        """
        if not self.engine.started:
            return False
        if self._probing is None or self._probing.done():
            self._probing = asyncio.create_task(self.database.run(inbox.try_to_write))
        await asyncio.wait({self._probing}, timeout=PROBED_WITHIN)
        if not self._probing.done() or self._probing.exception() is not None:
            return False
        return await self.alive() and not self.lifeline.in_use

    async def alive(self) -> bool:
        """Whether people are answered at all, if only without the store.

        A program that is alive but not healthy must not be started anew: while the store fails, a
        fresh start fails too, and then nobody would give safety advice.
        """
        if self._lifeline is None or self._lifeline.done():
            return False
        # A store that is not open yet has no sender: people are answered past it.
        sending = self._sending
        return not self.engine.started or (sending is not None and not sending.done())


MakeChannels = Callable[[Clock, Database, Loaded, Contents, Accept], Mapping[str, Channel]]


def build(
    settings: Settings,
    key: bytes,
    clock: Clock,
    channels: MakeChannels,
    invitation_link: Callable[[str], str],
    loaded: Loaded | None = None,
    slow_after: float = SLOW_AFTER,
    missing: str = "",
    *,
    at_once: bool = False,
) -> App:
    """Put the program together; nothing is opened or started yet.

    Args:
        invitation_link: turns an invitation's code into an address to tap, or "".
        loaded: data files that were read before; they are read now when left out.
        slow_after: seconds without an answer after which the store counts as failing.
        missing: what the place lacks; then nothing is kept, and ``key`` seals nothing.
        at_once: as :class:`~bot.storage.database.Database` takes it.
    """
    database = Database(
        settings.database_address,
        Encryption(key, None if missing else settings.followed_key_file),
        ErasureList(settings.home / ERASURES),
        at_once=at_once,
    )
    loaded = loaded or load_all(invitation_link, settings.home)
    pictures = PictureStore(settings.home, loaded.reference.catalogue, database.encryption)
    spool = Spool(settings.home / SPOOL, database.encryption)
    contents = Contents(pictures, Letters(loaded.words, loaded.reference, pictures), database)
    database.clean_files.append(partial(_clean_files, pictures, spool))
    post = Post(loaded.words, loaded.reference)
    rounds = AlertRounds(post, len(settings.second_routes))
    services = TurnServices(
        reference=loaded.reference,
        post=post,
        pictures=PictureRequests(pictures, loaded.words),
        tell_alert=rounds.tell,
        pass_on=Corrections(post, rounds).pass_on,
        reschedule=reschedule,
        code_hash=partial(code_hash, keyed=database.encryption.hashed),
    )
    conversations = Conversations(services, loaded.reader, FLOWS, CALLBACK_HANDLERS)
    due = DueWork(conversations)
    made: dict[str, Channel] = {}
    engine = Engine(
        database,
        clock,
        conversations,
        lambda: sender.wake(),
        lambda batch, work: lifeline.watched(batch, work),
    )
    lifeline = Lifeline(
        database,
        made,
        clock,
        accept=engine.accept,
        read=loaded.reader.read,
        words=LifelineWords(loaded.words, loaded.reference.countries),
        spool=None if missing else spool,
        slow_after=slow_after,
    )
    made.update(channels(clock, database, loaded, contents, lifeline.accept))
    hooks: list[Callable[[Address, Sequence[PersonId]], Awaitable[None]]] = []

    async def on_unreachable(at: Address, persons: Sequence[PersonId]) -> None:
        for hook in hooks:
            await hook(at, persons)

    limits = PacingLimits(
        settings.sends_per_second, timedelta(seconds=settings.seconds_between_sends)
    )
    sender = Sender(
        database,
        made,
        clock,
        limits,
        on_unreachable=on_unreachable,
        take_back=Corrections(post, rounds).take_back,
    )
    sweeps = (
        rounds.chase_due,
        rounds.unseen_due,
        due.silences,
        due.wakings,
        due.checkins,
        due.reminders,
        due.week_words,
        due.digests,
    )
    app = App(
        settings=settings,
        clock=clock,
        database=database,
        loaded=loaded,
        engine=engine,
        sender=sender,
        ticks=Ticks(database, clock, sweeps, sender.wake),
        due=due,
        rounds=rounds,
        contents=contents,
        pictures=pictures,
        spool=spool,
        channels=made,
        lifeline=lifeline,
        put_back=PutBack(clock),
        missing=missing,
    )
    hooks.append(app.on_unreachable)
    return app


def _clean_files(
    pictures: PictureStore, spool: Spool, erased: Sequence[Erased], waiting: frozenset[str]
) -> None:
    """What files beside the store hold of people whose words are erased."""
    pictures.forget(frozenset().union(*(one.pictures for one in erased)), waiting)
    spool.forget([chat for one in erased for chat in one.chats])
