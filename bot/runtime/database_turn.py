"""One service at a time on a PostgreSQL database: waiting for our turn, and noticing its end.

The server frees the database of a service whose machine or network is gone after seven seconds
(:mod:`bot.storage.server.connections`). So a service that has not been told for four that the
database is its own puts nothing into it any more, until it is told so again.
"""

import asyncio
import contextlib
import logging
import threading
from collections.abc import Callable
from datetime import timedelta
from typing import Any

from bot.channels.telegram.polling import pause_or_stop
from bot.errors import StoreError
from bot.storage.server.single_instance import CALLED_OFF_WITHIN, SingleInstance, Whose

log = logging.getLogger(__name__)

LOOK_EVERY = timedelta(seconds=1)
"""How often a service looks whether it has the database to itself."""

TOLD_WITHIN = 3.0
"""Seconds without an answer after which nobody knows whose the database is."""

ASK_AGAIN = timedelta(seconds=0.5)
"""The pause before a server that broke the wait off is asked again."""


async def our_turn(
    single_instance: SingleInstance, stop: asyncio.Event, say_waiting: Callable[[], None]
) -> bool:
    """Wait until no other service works on the database; False when told to stop before that.

    Raises:
        StoreError: the database does not answer at all.
    """
    if await asyncio.to_thread(single_instance.lock_database):
        return True
    say_waiting()
    while not stop.is_set():
        try:
            return await _waited(single_instance, stop)
        except StoreError:
            # A database that restarts is no reason to stop waiting for it.
            await pause_or_stop(ASK_AGAIN, stop)
    return False


async def _waited(single_instance: SingleInstance, stop: asyncio.Event) -> bool:
    """One wait, on a thread that does not keep the process: the server may never answer."""
    loop = asyncio.get_running_loop()
    waited: asyncio.Future[bool] = loop.create_future()

    def tell(taken: bool, error: StoreError | None) -> None:
        if waited.done():
            return
        if error is None:
            waited.set_result(taken)
        else:
            waited.set_exception(error)

    def wait() -> None:
        taken, error = False, None
        try:
            taken = single_instance.wait_for_database()
        except StoreError as failed:
            error = failed
        # A loop that is closed waits for nobody.
        with contextlib.suppress(RuntimeError):
            loop.call_soon_threadsafe(tell, taken, error)

    threading.Thread(target=wait, name="our-turn", daemon=True).start()
    stopping = asyncio.create_task(stop.wait())
    either: set[asyncio.Future[Any]] = {waited, stopping}
    await asyncio.wait(either, return_when=asyncio.FIRST_COMPLETED)
    stopping.cancel()
    if not waited.done():
        await asyncio.to_thread(single_instance.call_off)
        await asyncio.wait({waited}, timeout=CALLED_OFF_WITHIN)
        return False
    return waited.result()


async def keep_our_turn(
    single_instance: SingleInstance, in_doubt: Callable[[bool, bool], None], over: asyncio.Event
) -> None:
    """Look now and then whose the database is; sets ``over`` when all must be begun anew.

    That is when another service has it, and when a hold that was in doubt is ours again: what
    another may have done meanwhile is only in the store.

    Args:
        in_doubt: told whether it is in doubt, and whether another service waits for it.
    """
    doubted = False
    while not over.is_set():
        looking = asyncio.ensure_future(asyncio.to_thread(single_instance.look))
        await asyncio.wait({looking}, timeout=TOLD_WITHIN)
        hold = looking.result() if looking.done() else Whose.UNKNOWN
        if hold is Whose.UNKNOWN and not doubted:
            log.critical(
                "the database does not answer or is gone: another service may take it over"
            )
            doubted = True
            in_doubt(True, single_instance.standby_waits)
        if not looking.done():
            hold = await looking
        if hold is Whose.ANOTHERS or (hold is Whose.OURS and doubted):
            # From here on nothing may go into it that was read before.
            in_doubt(True, single_instance.standby_waits)
            said = "ours again" if hold is Whose.OURS else "another, or another service's"
            log.warning("the database is %s: all is begun anew", said)
            over.set()
            return
        await pause_or_stop(LOOK_EVERY, over)
