"""What to do after a message could not be handed over: a pure decision.

Nothing that matters is ever dropped for having failed often: safety replies and alerts are tried
until they are too old to mean anything, prompts until their day is over.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum

from bot.errors import (
    ChannelDown,
    DeliveryError,
    EditGone,
    Moved,
    NothingChanged,
    RateLimited,
    Rejected,
    Unreachable,
)
from bot.messages import Kind

FIRST_WAIT = timedelta(seconds=1)
LONGEST_WAIT = {True: timedelta(seconds=15), False: timedelta(minutes=2)}
"""The longest pause between two tries: urgent messages, others."""

KEEP_TRYING = {
    Kind.SAFETY: timedelta(hours=24),
    Kind.NEW_ALERT: timedelta(hours=72),
    Kind.ALERT: timedelta(hours=72),
    Kind.REPLY: timedelta(hours=24),
    Kind.PROMPT: timedelta(hours=12),
    Kind.DIGEST: timedelta(hours=12),
}
"""Age after which a message is out of date and no longer sent."""


class GiveUpReason(StrEnum):
    """Why a message will never go."""

    REJECTED = "rejected"
    TOO_OLD = "too_old"
    DAMAGED = "damaged"


@dataclass(frozen=True, slots=True)
class AsSent:
    """The message is shown as it should be."""


@dataclass(frozen=True, slots=True)
class RetryAt:
    """Try again at ``at``; with ``chat_rests``, nothing goes to this chat before that."""

    at: datetime
    chat_rests: bool = False


@dataclass(frozen=True, slots=True)
class Anew:
    """Send the same words as a new message."""


@dataclass(frozen=True, slots=True)
class MoveTo:
    """The chat is at ``address`` now; send it there."""

    address: str


@dataclass(frozen=True, slots=True)
class CloseChat:
    """The chat cannot be reached: nothing more is sent there until the person writes again."""


@dataclass(frozen=True, slots=True)
class GiveUp:
    """This message will never go."""

    reason: GiveUpReason


@dataclass(frozen=True, slots=True)
class StopChannel:
    """The channel cannot work; the message waits for the next start."""


Decision = AsSent | RetryAt | Anew | MoveTo | CloseChat | GiveUp | StopChannel


def after_error(
    error: DeliveryError,
    *,
    kind: Kind,
    attempts: int,
    created_at: datetime,
    now: datetime,
    jitter: float,
) -> Decision:
    """Decide what follows.

    Args:
        attempts: how often the message was tried before this time.
        jitter: 0 to 1, so that many messages do not all come back at once.
    """
    match error:
        case NothingChanged():
            return AsSent()
        case EditGone():
            return Anew()
        case Moved():
            return MoveTo(error.address)
        case Unreachable():
            return CloseChat()
        case Rejected():
            return GiveUp(GiveUpReason.REJECTED)
        case ChannelDown():
            return StopChannel()
    if now - created_at >= KEEP_TRYING[kind]:
        return GiveUp(GiveUpReason.TOO_OLD)
    if isinstance(error, RateLimited):
        return RetryAt(now + error.wait, chat_rests=True)
    return RetryAt(now + back_off(kind, attempts, jitter))


def back_off(kind: Kind, attempts: int, jitter: float) -> timedelta:
    """The pause after ``attempts`` earlier tries: doubling, bounded, between half and whole."""
    longest = LONGEST_WAIT[kind >= Kind.ALERT]
    # Twenty doublings of a second exceed every bound; larger exponents overflow.
    wait = min(longest, FIRST_WAIT * (1 << min(attempts, 20)))
    return wait * (0.5 + jitter / 2)
