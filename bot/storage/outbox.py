"""Messages in final words: put in with what caused them, claimed by the sender, recorded.

A row is claimed by highest kind first; within a chat and kind in order. Nothing of the future
stands here: a ``due_at`` ahead means a retry.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy.orm import aliased
from sqlmodel import and_, col, exists, or_, select

from bot.messages import Kind, Outgoing
from bot.storage.people import Address
from bot.storage.tables import OutboxRow
from bot.storage.unit import UnitOfWork, stored_id
from core.vocabulary import PersonId

CLAIM_FOR = timedelta(seconds=60)
"""A sender that has not reported within this time is taken for dead, and the row is sent again."""

OPEN = ("waiting", "sending")


@dataclass(frozen=True, slots=True)
class Claimed:
    """A row that this sender has taken.

    Attributes:
        edits_platform_id: the platform's id of the message to edit, or "".
        attempts: how often it was tried before.
    """

    id: int
    at: Address
    person_id: PersonId | None
    kind: Kind
    outgoing: Outgoing
    edits_platform_id: str
    attempts: int
    created_at: datetime


def enqueue(
    unit: UnitOfWork,
    *,
    dedupe_key: str,
    at: Address,
    person_id: PersonId | None,
    kind: Kind,
    outgoing: Outgoing,
    now: datetime,
    edits_id: int | None = None,
) -> int:
    """Put a message in, once per ``dedupe_key``; gives the row's id.

    An edit replaces a waiting edit of the same message, which is then never sent.
    """
    known = unit.session.exec(select(OutboxRow).where(OutboxRow.dedupe_key == dedupe_key)).first()
    if known is not None:
        assert known.id is not None  # noqa: S101 - read from the database
        return stored_id(known)
    if edits_id is not None:
        _replace_waiting_edits(unit, edits_id)
    row = OutboxRow(
        dedupe_key=dedupe_key,
        person_id=person_id,
        channel=at.channel,
        address=at.address,
        kind=kind,
        payload_sealed=unit.vault.seal_json(outgoing.as_json()),
        edits_id=edits_id,
        created_at=now,
        due_at=now,
    )
    unit.session.add(row)
    unit.session.flush()
    return stored_id(row)


def claim(
    unit: UnitOfWork,
    now: datetime,
    *,
    channel: str,
    least: Kind = Kind.DIGEST,
    resting: Sequence[str] = (),
    limited: Sequence[str] = (),
) -> Claimed | None:
    """Take the next message of a channel and commit; ``None`` when nothing can go now.

    Args:
        least: only messages of this kind or more urgent.
        resting: chats that may not be written to just now, but for safety replies and alerts.
        limited: chats that the platform itself told to wait: nothing goes there.
    """
    older = aliased(OutboxRow)
    blocked = exists().where(
        col(older.channel) == col(OutboxRow.channel),
        col(older.address) == col(OutboxRow.address),
        col(older.kind) == col(OutboxRow.kind),
        col(older.id) < col(OutboxRow.id),
        col(older.status).in_(OPEN),
    )
    free = or_(
        OutboxRow.status == "waiting",
        and_(OutboxRow.status == "sending", col(OutboxRow.claimed_until) < now),
    )
    query = (
        select(OutboxRow)
        .where(
            OutboxRow.channel == channel,
            free,
            OutboxRow.due_at <= now,
            OutboxRow.kind >= least,
            # Safety replies and alerts are not held behind an older row that waits for a retry.
            or_(OutboxRow.kind >= Kind.ALERT, ~blocked),
        )
        .order_by(col(OutboxRow.kind).desc(), col(OutboxRow.id))
        .limit(1)
        .with_for_update(skip_locked=True)
    )
    if resting:
        query = query.where(
            or_(OutboxRow.kind >= Kind.ALERT, col(OutboxRow.address).not_in(resting))
        )
    if limited:
        query = query.where(col(OutboxRow.address).not_in(limited))
    row = unit.session.exec(query).first()
    if row is None:
        return None
    row.status, row.claimed_until = "sending", now + CLAIM_FOR
    row.attempts += 1
    edits = unit.session.get(OutboxRow, row.edits_id) if row.edits_id else None
    unit.commit()
    return Claimed(
        id=stored_id(row),
        at=Address(row.channel, row.address),
        person_id=None if row.person_id is None else PersonId(row.person_id),
        kind=Kind(row.kind),
        outgoing=Outgoing.from_json(unit.vault.open_json(row.payload_sealed)),
        edits_platform_id=edits.platform_id if edits is not None else "",
        attempts=row.attempts - 1,
        created_at=row.created_at,
    )


def mark_sent(unit: UnitOfWork, row_id: int, platform_id: str, now: datetime) -> None:
    """The channel has handed it over; an edit keeps the id of the message it changed."""
    row = unit.session.get_one(OutboxRow, row_id)
    row.status, row.sent_at, row.claimed_until = "sent", now, None
    row.platform_id, row.last_error = platform_id, ""


def mark_retry(unit: UnitOfWork, row_id: int, due_at: datetime, error: str) -> None:
    """It did not go; try again at ``due_at``."""
    row = unit.session.get_one(OutboxRow, row_id)
    row.status, row.due_at, row.claimed_until, row.last_error = "waiting", due_at, None, error


def mark_anew(unit: UnitOfWork, row_id: int, now: datetime) -> None:
    """The message to edit is gone: the same words go out as a new message."""
    row = unit.session.get_one(OutboxRow, row_id)
    row.status, row.due_at, row.claimed_until, row.edits_id = "waiting", now, None, None


def mark_refused(unit: UnitOfWork, row_id: int, error: str) -> None:
    """It will never go."""
    row = unit.session.get_one(OutboxRow, row_id)
    row.status, row.claimed_until, row.last_error = "refused", None, error


def move_chat(unit: UnitOfWork, at: Address, new_address: str) -> None:
    """A chat has a new address: what waits for it goes there."""
    for row in unit.session.exec(
        select(OutboxRow).where(
            OutboxRow.channel == at.channel,
            OutboxRow.address == at.address,
            col(OutboxRow.status).in_(OPEN),
        )
    ):
        row.address = new_address


def next_due(unit: UnitOfWork, channel: str) -> datetime | None:
    """When the earliest waiting message of a channel may go."""
    return unit.session.exec(
        select(OutboxRow.due_at)
        .where(OutboxRow.channel == channel, OutboxRow.status == "waiting")
        .order_by(col(OutboxRow.due_at))
        .limit(1)
    ).first()


def _replace_waiting_edits(unit: UnitOfWork, edits_id: int) -> None:
    for row in unit.session.exec(
        select(OutboxRow).where(OutboxRow.edits_id == edits_id, OutboxRow.status == "waiting")
    ):
        row.status = "replaced"
