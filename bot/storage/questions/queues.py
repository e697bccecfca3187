"""What waits in the store and since when: what a monitor asks every few seconds."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from sqlmodel import col, func, select

from bot.messages import Kind
from bot.storage.tables import AlertRow, InboxRow, OutboxRow
from bot.storage.unit import UnitOfWork


@dataclass(frozen=True, slots=True)
class Queue:
    """How many wait, and since when the oldest does (aware); ``None`` where none waits."""

    count: int
    oldest: datetime | None


@dataclass(frozen=True, slots=True)
class Queues:
    """All that waits.

    Attributes:
        arrivals: messages from people that are not worked off.
        messages: messages to people by kind, from the moment at which each was to go out.
        alerts: alerts that nobody has seen, by level.
    """

    arrivals: Queue
    messages: Mapping[Kind, Queue]
    alerts: Mapping[str, Queue]


def queues(unit: UnitOfWork, now: datetime) -> Queues:
    """What waits at ``now``; a message that is to go out later does not wait yet."""
    arrivals = unit.session.exec(
        select(func.count(), func.min(InboxRow.received_at)).where(InboxRow.status == "waiting")
    ).one()
    messages = unit.session.exec(
        select(OutboxRow.kind, func.count(), func.min(OutboxRow.due_at))
        .where(OutboxRow.status == "waiting", OutboxRow.due_at <= now)
        .group_by(col(OutboxRow.kind))
    ).all()
    alerts = unit.session.exec(
        select(AlertRow.level, func.count(), func.min(AlertRow.unseen_since))
        .where(col(AlertRow.closed_at).is_(None), col(AlertRow.seen_at).is_(None))
        .group_by(col(AlertRow.level))
    ).all()
    return Queues(
        arrivals=Queue(*arrivals),
        messages={Kind(kind): Queue(count, oldest) for kind, count, oldest in messages},
        alerts={level: Queue(count, oldest) for level, count, oldest in alerts},
    )
