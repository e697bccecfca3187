"""Fetching Telegram's updates: each batch is on the disk before it is confirmed."""

import asyncio
import logging
from collections.abc import Awaitable, Callable, Mapping, Sequence
from datetime import timedelta
from typing import Any

from telegram import Bot
from telegram.error import Conflict, TelegramError

from bot.channels.telegram.batches import ids_of
from bot.channels.telegram.errors import translate
from bot.channels.telegram.updates import WANTED
from bot.errors import ChannelDown, RateLimited, StoreError, where_it_failed

POLL_SECONDS = 25
"""How long the platform holds a request for updates open."""

ANSWER_SECONDS = 10
"""How much longer the answer to such a request may take."""

MOST_UPDATES = 100
"""Updates of one request; the platform gives no more."""

FIRST_PAUSE = timedelta(seconds=1)
LONGEST_PAUSE = timedelta(seconds=30)
"""Between requests after faults in a row: doubling, bounded."""

CONFLICTS = 5
"""Conflicts in a row that are tolerated: a process that has just died may still hold a request."""

logger = logging.getLogger(__name__)


RawUpdate = Mapping[str, Any]


class PollingBot(Bot):
    """The library's Bot, which can also give updates unread.

    The library reads all updates of a request in one go: one that it cannot read would keep back
    the others for ever, and it logs them word for word. Its public way to raw answers
    (``do_api_request``) is no way here: it warns at every method that the library has itself, and
    takes the 401 of a refused token for a method that does not exist. So the private ``_post`` is
    used, and the library's version capped.
    """

    async def raw_updates(self, offset: int | None) -> Sequence[RawUpdate]:
        """The updates from ``offset`` on; those before it are confirmed."""
        given = {
            "offset": offset,
            "limit": MOST_UPDATES,
            "timeout": POLL_SECONDS,
            "allowed_updates": WANTED,
        }
        updates: object = await self._post(
            "getUpdates", given, read_timeout=POLL_SECONDS + ANSWER_SECONDS
        )
        if not isinstance(updates, list):
            raise TelegramError("the answer is no list of updates")
        return [update for update in updates if isinstance(update, dict)]


class Backoff:
    """How long to wait after faults in a row: doubling, bounded (exponential backoff).

    A fault of our own store is no reason to ask the platform less often: a warning sign among what
    it brings is answered without the store.
    """

    def __init__(self) -> None:
        """Start with the first pause."""
        self._pause = FIRST_PAUSE
        self._conflicts = 0

    def reset(self) -> None:
        """A request went well: the next pause is the first one again."""
        self._pause, self._conflicts = FIRST_PAUSE, 0

    def after(self, error: TelegramError | StoreError) -> timedelta:
        """The pause after this fault.

        Raises:
            ChannelDown: waiting will not help.
        """
        if isinstance(error, TelegramError):
            ours = translate(error)
            if isinstance(ours, RateLimited):
                return ours.wait
            if isinstance(ours, ChannelDown):
                self._conflicts += isinstance(error, Conflict)
                if not isinstance(error, Conflict) or self._conflicts >= CONFLICTS:
                    raise ours from None
        else:
            return FIRST_PAUSE
        pause, self._pause = self._pause, min(self._pause * 2, LONGEST_PAUSE)
        return pause


async def poll(
    bot: PollingBot,
    take: Callable[[Sequence[RawUpdate]], Awaitable[None]],
    stop: asyncio.Event,
    gives_way: Callable[[], bool] = lambda: False,
) -> None:
    """Fetch updates until ``stop`` is set.

    Args:
        take: puts a batch on the disk; raises ``StoreError`` when it cannot, and the same updates
            are fetched again.
        gives_way: whether a conflict means that another service has taken our place; then nothing
            is fetched while that holds.

    Raises:
        ChannelDown: the token is refused, or another process reads this bot's messages.
    """
    backoff = Backoff()
    offset: int | None = None
    while not stop.is_set():
        try:
            updates = await _fetch(bot, offset, stop)
            await take(updates)
        except (TelegramError, StoreError) as error:
            logger.warning("no updates: %s", _named(error))
            if isinstance(error, Conflict) and gives_way():
                while gives_way() and not stop.is_set():
                    await pause_or_stop(FIRST_PAUSE, stop)
                continue
            await pause_or_stop(backoff.after(error), stop)
            continue
        except Exception as error:  # noqa: BLE001 - without this loop nobody is heard any more
            logger.error("no updates: %s", where_it_failed(error))
            await pause_or_stop(FIRST_PAUSE, stop)
            continue
        backoff.reset()
        known = ids_of(updates)
        if known:
            offset = max(known) + 1
        elif updates:
            # Nothing can be confirmed that has no id: it comes again.
            logger.error("%d updates without an id", len(updates))
            await pause_or_stop(LONGEST_PAUSE, stop)


async def pause_or_stop(pause: timedelta, stop: asyncio.Event) -> None:
    """Wait, but not longer than until ``stop`` is set."""
    try:
        async with asyncio.timeout(pause.total_seconds()):
            await stop.wait()
    except TimeoutError:
        return


async def _fetch(bot: PollingBot, offset: int | None, stop: asyncio.Event) -> Sequence[RawUpdate]:
    """One request; nothing when ``stop`` is set while it is open."""
    fetching = asyncio.create_task(bot.raw_updates(offset))
    stopping = asyncio.create_task(stop.wait())
    try:
        await asyncio.wait({fetching, stopping}, return_when=asyncio.FIRST_COMPLETED)
        return fetching.result() if fetching.done() else ()
    finally:
        for task in (fetching, stopping):
            task.cancel()
        await asyncio.gather(fetching, stopping, return_exceptions=True)


def _named(error: Exception) -> str:
    """A store's fault in its own words; the platform's by its kind, which is sure to be safe."""
    return str(error) if isinstance(error, StoreError) else type(error).__name__
