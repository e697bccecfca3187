"""Arrivals: stored before the platform gets its confirmation, processed in order."""

import logging
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import timedelta

from sqlalchemy import bindparam, update
from sqlmodel import col, select

from bot.errors import Unopened
from bot.messages import Incoming, IncomingKind
from bot.storage.erasing.about import names
from bot.storage.prepared import Prepared, get, insert_new
from bot.storage.tables import InboxRow
from bot.storage.unit import UnitOfWork, stored_id
from core.vocabulary import PersonId

TRIES = 3
"""A row that fails this often is set aside, so that it never blocks the next."""


log = logging.getLogger(__name__)

_TABLE = InboxRow.metadata.tables["inbox"]
_DONE: Prepared[InboxRow] = Prepared(
    update(_TABLE)
    .where(_TABLE.c.id == bindparam("row_id"))
    .values(status="done", person_id=bindparam("person"), about=bindparam("told_of"))
)
_BEFORE: Prepared[InboxRow] = Prepared(
    select(InboxRow)
    .where(
        InboxRow.address == bindparam("address"),
        InboxRow.channel == bindparam("channel"),
        col(InboxRow.id) < bindparam("row_id"),
    )
    .order_by(col(InboxRow.id).desc())
    .limit(1)
)
_NEW = insert_new(
    _TABLE,
    (
        "channel",
        "update_id",
        "address",
        "kind",
        "text_sealed",
        "tap_sealed",
        "message_id",
        "received_at",
        "status",
        "read",
        "attempts",
        "last_error",
    ),
    unique=("channel", "update_id"),
)


@dataclass(frozen=True, slots=True)
class Waiting:
    """A stored row that is still to be worked off.

    Attributes:
        read: its red-flag transaction has been committed already.
    """

    id: int
    incoming: Incoming
    read: bool
    attempts: int


def accept(unit: UnitOfWork, batch: Sequence[Incoming]) -> list[Waiting]:
    """Store a batch and commit; a repeat of a known update is a no-op. Gives the new rows."""
    new = []
    for incoming in batch:
        row = _NEW.first(
            unit,
            channel=incoming.channel,
            update_id=incoming.update_id,
            address=incoming.address,
            kind=incoming.kind.value,
            text_sealed=unit.encryption.encrypt(incoming.text),
            tap_sealed=unit.encryption.encrypt(incoming.tap),
            message_id=incoming.message_id,
            received_at=incoming.received_at,
            status="waiting",
            read=False,
            attempts=0,
            last_error="",
        )
        if row is not None:
            new.append(Waiting(row.id, incoming, read=False, attempts=0))
    unit.commit()
    return new


def try_to_write(unit: UnitOfWork) -> None:
    """Write without changing anything: a store that cannot be written raises."""
    unit.session.execute(
        update(InboxRow).where(col(InboxRow.id) == -1).values(attempts=InboxRow.attempts)
    )


def waiting(unit: UnitOfWork) -> list[Waiting]:
    """All rows still to be worked off, in the order they arrived."""
    rows = unit.session.exec(
        select(InboxRow).where(InboxRow.status == "waiting").order_by(col(InboxRow.id))
    ).all()
    return [_waiting(unit, row) for row in rows]


def stored(unit: UnitOfWork, row_id: int) -> Waiting | None:
    """One row, worked off or not."""
    row = unit.session.get(InboxRow, row_id)
    return None if row is None else _waiting(unit, row)


def mark_read(unit: UnitOfWork, row_id: int) -> None:
    """The red-flag reader has dealt with this row."""
    unit.session.get_one(InboxRow, row_id).read = True


def mark_done(
    unit: UnitOfWork, row_id: int, person_id: PersonId | None, about: Iterable[PersonId] = ()
) -> None:
    """This row is worked off; ``about``: the clients whom the answer told of."""
    _DONE.run(unit, row_id=row_id, person=person_id, told_of=names(about))


def tapped_just_before(
    unit: UnitOfWork, row_id: int, channel: str, address: str, within: timedelta
) -> bool:
    """Whether this row's very button was tapped right before, with nothing of the chat between."""
    row = get(unit, InboxRow, row_id)
    before = _BEFORE.first(unit, channel=channel, address=address, row_id=row_id)
    tap = unit.encryption.decrypt(row.tap_sealed)
    return (
        before is not None
        and bool(tap and row.message_id)
        and before.message_id == row.message_id
        and unit.encryption.decrypt(before.tap_sealed) == tap
        and before.status == "done"
        and row.received_at - before.received_at < within
    )


def was_tapped(unit: UnitOfWork, about: InboxRow, tap: str) -> bool:
    """Whether this very button about an arrival has been answered in the chat it came from."""
    taps = unit.session.exec(
        select(InboxRow.tap_sealed).where(
            InboxRow.address == about.address,
            InboxRow.channel == about.channel,
            # Nobody taps a button about what has not arrived.
            col(InboxRow.id) > stored_id(about),
            InboxRow.kind == IncomingKind.TAP.value,
            InboxRow.status == "done",
        )
    )
    return any(unit.encryption.decrypt(one) == tap for one in taps)


def hand_over(
    unit: UnitOfWork, row_id: int, channel: str, address: str, person_id: PersonId
) -> Incoming | None:
    """Words or a tap from a shared chat go to the person who says they are theirs, once.

    Returns:
        ``None`` when there is no such row of this chat, or somebody has it already.
    """
    row = unit.session.get(InboxRow, row_id)
    if row is None or row.person_id is not None or (row.channel, row.address) != (channel, address):
        return None
    row.person_id = person_id
    return _waiting(unit, row).incoming


def mark_failure(unit: UnitOfWork, row_id: int, error: str) -> bool:
    """Count a failed try and commit; True when the row is now set aside for good.

    ``error``: the kind of error and where, without anybody's words.
    """
    row = unit.session.get_one(InboxRow, row_id)
    row.attempts += 1
    row.last_error = error
    if row.attempts >= TRIES:
        row.status = "failed"
    unit.commit()
    return row.status == "failed"


def _waiting(unit: UnitOfWork, row: InboxRow) -> Waiting:
    kind, text, tap = IncomingKind(row.kind), "", ""
    try:
        text = unit.encryption.decrypt(row.text_sealed)
        tap = unit.encryption.decrypt(row.tap_sealed)
    except Unopened:
        # As with a voice note somebody is told that it was not understood, and the coach hears it.
        log.error("inbox row %d is damaged: it counts as what cannot be read", row.id)
        kind = IncomingKind.UNREADABLE
    incoming = Incoming(
        channel=row.channel,
        address=row.address,
        update_id=row.update_id,
        kind=kind,
        text=text,
        tap=tap,
        message_id=row.message_id,
        received_at=row.received_at,
    )
    return Waiting(stored_id(row), incoming, row.read, row.attempts)
