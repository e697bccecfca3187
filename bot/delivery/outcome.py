"""Recording the results of sends."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime

from bot.delivery.retry import (
    Anew,
    AsSent,
    CloseChat,
    Decision,
    GiveUp,
    MoveTo,
    RetryAt,
    StopChannel,
)
from bot.storage import outbox
from bot.storage.outbox import Due
from bot.storage.people import Address, mark_blocked
from bot.storage.unit import UnitOfWork
from core.vocabulary import PersonId


@dataclass(frozen=True, slots=True)
class SendResult:
    """The result of one send.

    Attributes:
        platform_id: the platform's id of the message, where it was sent.
        error: what went wrong, without anybody's words, or "".
    """

    due: Due
    decision: Decision
    ended_at: datetime
    platform_id: str = ""
    error: str = ""


@dataclass(frozen=True, slots=True)
class Unreached:
    """A chat that has just turned out closed, and the persons it spoke for."""

    at: Address
    persons: Sequence[PersonId]


def write_down(unit: UnitOfWork, outcomes: Iterable[SendResult]) -> list[Unreached]:
    """Record how these ended, and commit; gives the chats of persons that closed just now."""
    unreached = []
    for outcome in outcomes:
        closed = _write_one(unit, outcome)
        if closed is not None:
            unreached.append(closed)
    unit.commit()
    return unreached


def _write_one(unit: UnitOfWork, outcome: SendResult) -> Unreached | None:
    due, now = outcome.due, outcome.ended_at
    match outcome.decision:
        case AsSent():
            outbox.mark_sent(unit, due, outcome.platform_id or due.edits_platform_id, now)
        case RetryAt(at=at):
            outbox.mark_retry(unit, due.id, at, outcome.error)
        case StopChannel():
            outbox.mark_retry(unit, due.id, now, outcome.error)
        case Anew():
            outbox.mark_anew(unit, due)
        case MoveTo(address=address):
            outbox.move_chat(unit, due.at, address)
        case GiveUp():
            outbox.mark_refused(unit, due.id, outcome.error)
        case CloseChat():
            outbox.mark_refused(unit, due.id, outcome.error)
            outbox.refuse_chat(unit, due.at, outcome.error)
            persons = mark_blocked(unit, due.at, now)
            return Unreached(due.at, persons) if persons else None
    return None
