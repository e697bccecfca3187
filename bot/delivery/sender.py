"""The sender: everything that goes out to people passes here, from the outbox to a channel."""

import asyncio
import random
from collections.abc import Awaitable, Callable, Mapping, Sequence
from datetime import datetime

from bot.clock import Clock
from bot.delivery.channel import Channel
from bot.delivery.lane import Lane
from bot.delivery.outcome import ClosedChat, TakeBack, nothing_taken_back
from bot.delivery.pacing import PacingLimits
from bot.storage.database import Database
from bot.storage.people import Address
from core.vocabulary import PersonId

OnUnreachable = Callable[[Address, Sequence[PersonId]], Awaitable[None]]
"""Called after a closed chat has been recorded, with the chat and the persons it spoke for."""


async def _nobody_told(_at: Address, _persons: Sequence[PersonId]) -> None:
    """What happens to closed chats by default: they are only marked."""


class Sender:
    """Hands waiting messages to the channels, the most urgent first, within each channel's limits.

    Delivery is at least once: a crash or a broken connection may repeat a message, never lose one.
    """

    def __init__(
        self,
        database: Database,
        channels: Mapping[str, Channel],
        clock: Clock,
        limits: PacingLimits | None = None,
        *,
        on_unreachable: OnUnreachable = _nobody_told,
        jitter: Callable[[], float] = random.random,
        take_back: TakeBack = nothing_taken_back,
    ) -> None:
        """``limits`` hold for each channel; ``jitter`` gives numbers from 0 to 1."""

        async def closed(chat: ClosedChat) -> None:
            await on_unreachable(chat.at, chat.persons)

        self._lanes = [
            Lane(
                database,
                channel,
                clock,
                limits or PacingLimits(),
                on_unreachable=closed,
                jitter=jitter,
                take_back=take_back,
            )
            for channel in channels.values()
        ]

    def wake(self) -> None:
        """Something was committed to the outbox. To be called on the loop's thread."""
        for lane in self._lanes:
            lane.wake()

    async def run(self, stop: asyncio.Event) -> None:
        """Send until ``stop`` is set, then let what is in hand end.

        Raises:
            ChannelDown: a channel cannot work at all; the process should stop.
        """
        runs = [asyncio.create_task(lane.run(stop)) for lane in self._lanes]
        stopping = asyncio.create_task(stop.wait())
        stopping.add_done_callback(lambda _: self.wake())
        try:
            await asyncio.gather(*runs)
        finally:
            for task in (*runs, stopping):
                task.cancel()
            await asyncio.gather(*runs, stopping, return_exceptions=True)

    async def drain(self, now: datetime) -> None:
        """Send everything due at ``now``, without pacing; nothing is tried twice.

        Raises:
            ChannelDown: a channel cannot work at all.
            StoreError: the store cannot be used.
        """
        for lane in self._lanes:
            await lane.drain(now)
