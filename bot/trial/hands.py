"""Hands for invented people: they tap and type on phones of the trial page, and are answered.

Each tap takes the path of a real one (inbox, red flags, conversation, outbox), but in one go on the
store's thread and without pauses: weeks pass in seconds.
"""

from collections.abc import Sequence
from datetime import datetime, timedelta

from bot.channels.page.channel import NAME
from bot.clock import ManualClock
from bot.engine.conversation import Conversations
from bot.engine.screens import split_tap
from bot.messages import Incoming, IncomingKind, Outgoing, ReplyButton
from bot.storage import inbox, outbox
from bot.storage.database import Database
from bot.storage.unit import UnitOfWork

BETWEEN_TAPS = timedelta(seconds=12)
LOOKED_BACK = 6
"""How many of the newest messages a person looks through for a button."""


class Hands:
    """Does what people do, and lets the program answer before the next tap."""

    def __init__(
        self, database: Database, conversations: Conversations, clock: ManualClock
    ) -> None:
        """``clock``: stands still but for a few seconds a tap."""
        self._database = database
        self._conversations = conversations
        self._clock = clock
        self._done = 0
        # What stands on each phone by message id, last changed last.
        self._shown: dict[str, dict[str, Outgoing]] = {}

    def text(self, phone: str) -> str:
        """The words of the newest message."""
        newest = self._newest(phone)
        return newest[0][1].text if newest else ""

    def offered(self, phone: str) -> list[str]:
        """The values of the buttons that were shown last."""
        for _, outgoing in self._newest(phone):
            if outgoing.choices:
                return [split_tap(choice.value)[2] for choice in _choices(outgoing)]
        return []

    def labelled(self, phone: str, name: str) -> list[str]:
        """Values of the newest message's buttons whose label names somebody."""
        newest = self._newest(phone)
        choices = _choices(newest[0][1]) if newest else []
        return [split_tap(choice.value)[2] for choice in choices if name in choice.label]

    async def tap(self, phone: str, value: str, handler: str = "") -> bool:
        """Tap the newest button of this value; False when none is in sight.

        Args:
            handler: only buttons that this handler answers.
        """
        for message_id, outgoing in self._newest(phone):
            for choice in _choices(outgoing):
                name, _, said = split_tap(choice.value)
                if said == value and handler in ("", name):
                    await self._arrive(phone, IncomingKind.TAP, choice.value, message_id)
                    return True
        return False

    async def type(self, phone: str, text: str) -> None:
        """Type words and send them."""
        await self._arrive(phone, IncomingKind.TEXT, text)

    async def look(self) -> None:
        """Take in what has been said without being asked."""
        await self._database.run(self._deliver, self._clock.now())

    def _newest(self, phone: str) -> Sequence[tuple[str, Outgoing]]:
        return list(reversed(self._shown.get(phone, {}).items()))[:LOOKED_BACK]

    async def _arrive(
        self, phone: str, kind: IncomingKind, what: str, message_id: str = ""
    ) -> None:
        self._done += 1
        self._clock.move_to(self._clock.now() + BETWEEN_TAPS)
        is_tap = kind is IncomingKind.TAP
        incoming = Incoming(
            channel=NAME,
            address=phone,
            update_id=f"{self._done:032x}",
            kind=kind,
            text="" if is_tap else what,
            tap=what if is_tap else "",
            message_id=message_id,
            received_at=self._clock.now(),
        )
        await self._database.run(self._answer, incoming, self._clock.now())

    def _answer(self, unit: UnitOfWork, incoming: Incoming, now: datetime) -> None:
        for row in inbox.accept(unit, [incoming]):
            self._conversations.handle(unit, row, now)
        self._deliver(unit, now)

    def _deliver(self, unit: UnitOfWork, now: datetime) -> None:
        """Put what waits in the outbox on the phones."""
        for due in outbox.all_waiting(unit, NAME):
            edited = outbox.shown_as(unit, due.edits_id) if due.edits_id is not None else ""
            shown_as = edited or f"history-{due.id}"
            outbox.mark_sent(unit, due, shown_as, now)
            phone = self._shown.setdefault(due.at.address, {})
            phone.pop(shown_as, None)
            if due.outgoing is not None:
                phone[shown_as] = due.outgoing
        unit.commit()


def _choices(outgoing: Outgoing) -> list[ReplyButton]:
    return [choice for row in outgoing.choices for choice in row]
