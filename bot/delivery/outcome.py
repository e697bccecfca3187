"""Recording the results of sends."""

import logging
from collections.abc import Callable, Sequence
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
from bot.errors import StoreError, where_it_failed
from bot.storage import outbox
from bot.storage.outbox import Due, Undelivered
from bot.storage.people import Address, mark_blocked, mark_reached
from bot.storage.questions.chased_alerts import hurry_for
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
class ClosedChat:
    """A chat that has just turned out closed, or that a message of its own will never reach.

    Attributes:
        persons: whom it spoke for, where that was not known before.
        undelivered: what waited for it.
        is_open: only this message will never go: it is too old, or the platform will not have it.
    """

    at: Address
    persons: Sequence[PersonId]
    undelivered: Sequence[Undelivered] = ()
    is_open: bool = False


TakeBack = Callable[[UnitOfWork, ClosedChat, datetime], None]
"""Says, in the transaction that refuses them, what must be said of messages that did not arrive."""

logger = logging.getLogger(__name__)


def nothing_taken_back(_unit: UnitOfWork, _closed: ClosedChat, _now: datetime) -> None:
    """What is said of messages that did not arrive, by default."""


def write_down(
    unit: UnitOfWork, outcomes: Sequence[SendResult], take_back: TakeBack = nothing_taken_back
) -> list[ClosedChat]:
    """Record how these ended, and commit; gives the chats of persons that closed just now."""
    try:
        closed = _written(unit, outcomes, take_back)
    except StoreError:
        raise
    except Exception as error:  # noqa: BLE001 - what was sent must be known as sent all the same
        logger.error("messages to a closed chat were not taken back: %s", where_it_failed(error))
        unit.undo()
        closed = _written(unit, outcomes, nothing_taken_back)
    unit.commit()
    return [one for one in closed if one.persons]


def _written(
    unit: UnitOfWork, outcomes: Sequence[SendResult], take_back: TakeBack
) -> list[ClosedChat]:
    closed = []
    for outcome in outcomes:
        chat = _write_one(unit, outcome)
        if chat is not None:
            take_back(unit, chat, outcome.ended_at)
            closed.append(chat)
    return closed


def _write_one(unit: UnitOfWork, outcome: SendResult) -> ClosedChat | None:
    due, now = outcome.due, outcome.ended_at
    match outcome.decision:
        case AsSent():
            outbox.mark_sent(unit, due, outcome.platform_id or due.edits_platform_id, now)
            for person_id in mark_reached(unit, due.at):
                hurry_for(unit, person_id, now)
        case RetryAt(at=at):
            outbox.mark_retry(unit, due.id, at, outcome.error)
        case StopChannel():
            outbox.mark_retry(unit, due.id, now, outcome.error)
        case Anew():
            outbox.mark_anew(unit, due)
        case MoveTo(address=address):
            outbox.move_chat(unit, due.at, address)
        case GiveUp():
            given_up = outbox.give_up(unit, due.id, outcome.error)
            return ClosedChat(due.at, (), given_up, is_open=True)
        case CloseChat():
            # The message itself is among those that wait.
            undelivered = outbox.refuse_chat(unit, due.at, outcome.error)
            outbox.mark_refused(unit, due.id, outcome.error)
            return ClosedChat(due.at, mark_blocked(unit, due.at, now), undelivered)
    return None
