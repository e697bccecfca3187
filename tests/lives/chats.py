"""What stands in each chat: which buttons can be tapped now, and which are days old."""

import re
from dataclasses import dataclass, field
from datetime import date

from tests.doubles.record_channel import RecordChannel, Recorded

CODE = re.compile(r"\b[A-Z2-9]{4}-[A-Z2-9]{4}\b")


@dataclass(frozen=True, slots=True)
class Shown:
    """A message in a chat, as it was last changed, and the day of that."""

    message_id: str
    text: str
    buttons: tuple[tuple[str, str], ...]
    on: date


@dataclass(frozen=True, slots=True)
class Found:
    """A button to tap."""

    value: str
    message_id: str
    shown: Shown


@dataclass(slots=True)
class Chats:
    """All chats; :meth:`look` takes in what was sent since the last look."""

    channel: RecordChannel
    _seen: int = 0
    _shown: dict[str, dict[str, Shown]] = field(default_factory=dict)

    def __len__(self) -> int:
        """How many messages were sent in all."""
        return self._seen

    def look(self, on: date) -> list[Recorded]:
        """What is new; ``on`` is the day of it."""
        new = self.channel.sent[self._seen :]
        self._seen += len(new)
        for one in new:
            message_id = one.edits or one.platform_id
            buttons = tuple(
                (choice.label, choice.value) for row in one.outgoing.choices for choice in row
            )
            chat = self._shown.setdefault(one.address, {})
            # Changed messages count as new ones: they are where somebody is.
            chat.pop(message_id, None)
            chat[message_id] = Shown(message_id, one.outgoing.text, buttons, on)
        return new

    def newest(self, who: str) -> Shown | None:
        """The newest message of a chat that has buttons."""
        return next(self._with_buttons(who), None)

    def newest_text(self, who: str) -> str:
        """The newest text of a chat."""
        return next(reversed(self._shown.get(who, {}).values())).text if who in self._shown else ""

    def older(self, who: str) -> list[Shown]:
        """All other messages with buttons, the newest first."""
        return list(self._with_buttons(who))[1:]

    def button(self, who: str, label: str, old: str = "") -> Found | None:
        """A button by its label, on the newest message or on an older one that begins so."""
        for number, shown in enumerate(self._with_buttons(who)):
            if old and (number == 0 or not shown.text.startswith(old)):
                continue
            for name, value in shown.buttons:
                if name.startswith(label):
                    return Found(value, shown.message_id, shown)
            if not old:
                return None
        return None

    def newest_code(self) -> str:
        """The newest code that anybody was sent."""
        codes = [code for one in self.channel.sent for code in CODE.findall(one.outgoing.text)]
        return codes[-1] if codes else ""

    def _with_buttons(self, who: str):
        return (one for one in reversed(list(self._shown.get(who, {}).values())) if one.buttons)
