"""How fast a channel may be written to: over all chats, and to one chat.

Telegram asks for no more than about 30 messages a second over all chats and one a second to one
chat (Telegram, "Bots FAQ", broadcasting limits). Safety replies and alerts do not wait for the
second of their chat, and tokens are set aside for them, so that a morning's prompts never hold
one back. Time is handed in; it is a steady one (:meth:`bot.clock.Clock.steady`), so that a clock
that is put back mutes nobody.
"""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime, timedelta

BURST_SECONDS = 0.2
"""Burst after a silence, as a share of the messages of a second."""

SET_ASIDE = 0.5
"""The share of the burst that only safety replies and alerts may use."""


@dataclass(frozen=True, slots=True)
class PacingLimits:
    """The limits of a channel.

    Attributes:
        per_second: messages a second over all chats.
        between: pause between ordinary messages to one chat.
    """

    per_second: float = 30.0
    between: timedelta = timedelta(seconds=1)


@dataclass(frozen=True, slots=True)
class Allowance:
    """How many messages may go at this moment: ``ordinary`` ones are part of ``all``."""

    all: int
    ordinary: int


class Pacing:
    """Counts what was sent through one channel."""

    def __init__(self, limits: PacingLimits, now: datetime) -> None:
        """Start with a full bucket at ``now``."""
        self._limits = limits
        self._most = max(2.0, limits.per_second * BURST_SECONDS)
        self._aside = max(1.0, self._most * SET_ASIDE)
        self._tokens, self._counted_at = self._most, now
        self._rests_until: dict[str, datetime] = {}
        self._limited_until: dict[str, datetime] = {}

    def allowance(self, now: datetime) -> Allowance:
        """How many messages may go now."""
        self._refill(now)
        return Allowance(all=int(self._tokens), ordinary=max(0, int(self._tokens - self._aside)))

    def spend(self, address: str, now: datetime) -> None:
        """Count a message sent to this chat now."""
        self._refill(now)
        self._tokens -= 1
        if self._limits.between:
            self._rests_until[address] = now + self._limits.between

    def limit(self, address: str, until: datetime) -> None:
        """Send nothing to this chat before ``until``: the platform asks for that."""
        self._limited_until[address] = max(until, self._limited_until.get(address, until))

    def resting(self, now: datetime) -> Collection[str]:
        """Chats that had a message within the last pause."""
        return _still(self._rests_until, now)

    def limited(self, now: datetime) -> Collection[str]:
        """Chats that the platform told to wait."""
        return _still(self._limited_until, now)

    def next_change(self, now: datetime) -> datetime | None:
        """The next moment at which more may go than now; None when nothing is held back."""
        self._refill(now)
        moments = [*self._rests_until.values(), *self._limited_until.values()]
        for wanted in (1.0, self._aside + 1.0):
            if self._tokens < wanted:
                seconds = (wanted - self._tokens) / self._limits.per_second
                # A microsecond more, so that rounding never leaves a token just short of whole.
                moments.append(now + timedelta(seconds=seconds, microseconds=1))
        return min((moment for moment in moments if moment > now), default=None)

    def _refill(self, now: datetime) -> None:
        passed = (now - self._counted_at).total_seconds()
        if passed > 0:
            self._tokens = min(self._most, self._tokens + passed * self._limits.per_second)
            self._counted_at = now


def _still(until: dict[str, datetime], now: datetime) -> Collection[str]:
    for address in [address for address, moment in until.items() if moment <= now]:
        del until[address]
    return until.keys()
