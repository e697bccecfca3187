"""A channel that only records what it is given."""

from dataclasses import dataclass

from bot.errors import EditGone, Unreachable
from bot.messages import Outgoing


@dataclass(frozen=True, slots=True)
class Recorded:
    """One message handed over. ``edits`` is the id of the message it changed, or ""."""

    address: str
    platform_id: str
    outgoing: Outgoing
    edits: str = ""


class RecordChannel:
    """Keeps every message in :attr:`sent`, in order."""

    def __init__(self, name: str = "record") -> None:
        """``name``: what the channel is called in stored rows."""
        self._name = name
        self._closed: set[str] = set()
        self.sent: list[Recorded] = []

    @property
    def name(self) -> str:
        """What the channel is called in stored rows."""
        return self._name

    async def send(self, address: str, outgoing: Outgoing) -> str:
        """Record a new message; gives its id.

        Raises:
            Unreachable: the chat was closed.
        """
        if address in self._closed:
            raise Unreachable
        platform_id = str(len(self.sent) + 1)
        self.sent.append(Recorded(address, platform_id, outgoing))
        return platform_id

    async def edit(self, address: str, platform_id: str, outgoing: Outgoing) -> str:
        """Record a change.

        Raises:
            EditGone: no such message was sent to this chat.
        """
        if not any(one.address == address and one.platform_id == platform_id for one in self.sent):
            raise EditGone
        self.sent.append(Recorded(address, platform_id, outgoing, edits=platform_id))
        return platform_id

    def close_chat(self, address: str) -> None:
        """From now on this chat takes nothing, like one that has blocked the bot."""
        self._closed.add(address)

    def open_chat(self, address: str) -> None:
        """This chat takes messages again."""
        self._closed.discard(address)

    def said_to(self, address: str) -> list[str]:
        """The texts that reached a chat, in order."""
        return [one.outgoing.text for one in self.sent if one.address == address]

    def shown(self, address: str) -> list[Recorded]:
        """What stands in a chat now: each message once, as it was last changed."""
        latest = {one.platform_id: one for one in self.sent if one.address == address}
        return list(latest.values())
