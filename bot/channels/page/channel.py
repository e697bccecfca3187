"""The trial page's channel: a message is handed over when the outbox row says "sent".

The page shows the store itself (:mod:`bot.storage.shown`), so handing over is only naming the
message and ringing the bell that wakes open pages. Nothing can be lost between channel and page.
"""

import asyncio
from uuid import uuid4

from bot.messages import Outgoing
from bot.storage.shown import SHOWS_THE_STORE

NAME = SHOWS_THE_STORE


class Bell:
    """Wakes whoever waits for something new; a ring before the wait is not missed."""

    def __init__(self) -> None:
        """Nobody waits yet."""
        self._waiting: set[asyncio.Event] = set()
        self._closed = False

    @property
    def closed(self) -> bool:
        """The program stops: open streams must end."""
        return self._closed

    @property
    def waiting(self) -> int:
        """How many wait."""
        return len(self._waiting)

    def ring(self) -> None:
        """Wake everyone."""
        for event in self._waiting:
            event.set()

    def close(self) -> None:
        """Wake everyone for the last time."""
        self._closed = True
        self.ring()

    def join(self) -> asyncio.Event:
        """An event of one's own; cleared by the one who waits, given back by :meth:`leave`."""
        event = asyncio.Event()
        self._waiting.add(event)
        return event

    def leave(self, event: asyncio.Event) -> None:
        """Stop waiting."""
        self._waiting.discard(event)


class PageChannel:
    """A channel to the trial page's phones; every phone address exists."""

    def __init__(self, bell: Bell) -> None:
        """``bell``: rung for every message."""
        self._bell = bell

    @property
    def name(self) -> str:
        """What the channel is called in stored rows."""
        return NAME

    async def send(self, address: str, outgoing: Outgoing) -> str:  # noqa: ARG002 - as the protocol names it
        """Name a new message. Its words already stand in the outbox, where the page reads them."""
        self._bell.ring()
        return uuid4().hex

    async def edit(self, address: str, platform_id: str, outgoing: Outgoing) -> str:  # noqa: ARG002 - the same
        """A change keeps the message's name."""
        self._bell.ring()
        return platform_id
