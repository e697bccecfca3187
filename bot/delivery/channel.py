"""The protocol of a channel: how messages reach people's chats, and arrivals come back."""

from collections.abc import Awaitable, Callable, Sequence
from typing import Protocol

from bot.messages import Incoming, Outgoing

Accept = Callable[[Sequence[Incoming]], Awaitable[None]]
"""Takes a batch from a channel; when it returns, the batch is on the disk. Only then may the
channel tell its platform. A repeat of a known update does nothing. Raises ``StoreError`` when the
store fails; the channel must then not confirm the batch."""


class Channel(Protocol):
    """A way to people's chats. Raises only :class:`bot.errors.DeliveryError`."""

    @property
    def name(self) -> str:
        """What the channel is called in stored rows."""
        ...

    async def send(self, address: str, outgoing: Outgoing) -> str:
        """Hand a new message over; gives the platform's id of it."""
        ...

    async def edit(self, address: str, platform_id: str, outgoing: Outgoing) -> str:
        """Change a message in place; gives the platform's id of it (it may be a new one)."""
        ...
