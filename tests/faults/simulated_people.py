"""Clients who use Telegram while the service dies and comes back."""

import asyncio
import random
from dataclasses import dataclass, field
from itertools import count

from bot.engine.burst import MANY
from tests.doubles.bot_api import BotApi
from tests.doubles.bot_api_chats import Shown

GOOD_ANSWERS = (
    "None of these",
    "Well",
    "Rested",
    "A little sore",
    "Calm",
    "Good",
    "Change an answer",
)
"""What a check-in client taps, by the beginning of the label."""

PATIENCE = 5.0
"""Seconds after which people tap again."""

MOST_UNANSWERED = MANY // 2
"""Texts of one chat without a reply; whoever has written so many waits for one.

However slow the machine and long the service is down, no more than that waits in a chat: what is a
burst is answered together, and then a text has no reply of its own to look for.
"""

SIGNS = (
    "my chest hurts and it goes to my arm",
    "I have chest pain right now",
    "I fainted and my heart is racing",
)


@dataclass
class People:
    """All simulated clients and what they have done.

    Attributes:
        updates: ids of everything that they did.
        flags: the words of each warning sign, by chat.
    """

    api: BotApi
    chance: random.Random
    updates: list[int] = field(default_factory=list)
    flags: dict[int, list[str]] = field(default_factory=dict)
    going: bool = True
    _numbers: "count[int]" = field(default_factory=lambda: count(1))

    async def checks_in(self, chat_id: int) -> None:
        """Answer the morning's questions, change an answer, answer again, and so on."""
        while self.going:
            await self.one_step(chat_id)
            await asyncio.sleep(self.chance.uniform(0.05, 0.3))

    async def one_step(self, chat_id: int) -> None:
        """Tap the next answer, or ask for the check-in; wait a moment for what comes of it."""
        shown = self._newest_question(chat_id)
        if shown is None:
            self.updates.append(self.api.say(chat_id, "check in"))
        else:
            label = next(
                label
                for begin in GOOD_ANSWERS
                for label, _ in shown.buttons
                if label.startswith(begin)
            )
            self.updates.append(self.api.tap(chat_id, label))
        before = self._looks(chat_id)
        try:
            await self.api.until(lambda: self._looks(chat_id) != before, PATIENCE)
        except TimeoutError:
            return

    async def reports_signs(self, chat_id: int) -> None:
        """Write of a warning sign now and then, each time in words that are told apart."""
        said = self.flags.setdefault(chat_id, [])
        unanswered = heard = 0
        while self.going:
            # Reminders come besides: whoever has an answer to all has none too many.
            fresh = len(self.api.chat(chat_id).said) - heard
            unanswered, heard = max(0, unanswered - fresh), heard + fresh
            if unanswered < MOST_UNANSWERED:
                unanswered += 1
                words = f"{self.chance.choice(SIGNS)} (time {next(self._numbers)})"
                said.append(words)
                self.updates.append(self.api.say(chat_id, words))
            await asyncio.sleep(self.chance.uniform(1.0, 2.5))

    def has_finished(self, chat_id: int) -> bool:
        """Whether the client sees the check-in's result."""
        shown = self._newest_question(chat_id)
        return shown is not None and any(
            label.startswith("Change an answer") for label, _ in shown.buttons
        )

    def _newest_question(self, chat_id: int) -> Shown | None:
        for shown in reversed(self.api.chat(chat_id).said.values()):
            if any(label.startswith(GOOD_ANSWERS) for label, _ in shown.buttons):
                return shown
        return None

    def _looks(self, chat_id: int) -> tuple[tuple[int, int], ...]:
        return tuple((one.message_id, one.edits) for one in self.api.chat(chat_id).said.values())
