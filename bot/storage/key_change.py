"""A change of the key in place: everything is sealed anew while the service goes on.

Both keys are known meanwhile (:class:`bot.storage.encryption.Encryption`). Whoever stops it begins
again where rows are left that were sealed with an older key. Addresses of chats are looked up, so
that they change all at once, at the start of the service.
"""

import logging
from collections.abc import Callable, Sequence
from datetime import datetime
from typing import Any

from sqlalchemy import Column, Table, and_, func, select, update
from sqlalchemy.types import String
from sqlmodel import SQLModel, col
from sqlmodel import select as select_rows

from bot.errors import Unopened
from bot.storage.columns import NOBODYS, ChatAddress
from bot.storage.key_proof import PROOF
from bot.storage.tables import InvitationRow, KeyProofRow
from bot.storage.unit import UnitOfWork

AT_ONCE = 100
"""Rows in one transaction: meanwhile a client who reports chest pain waits."""

log = logging.getLogger(__name__)

Run = Callable[..., Any]
"""Does work in a unit of work of its own (:meth:`bot.storage.database.Database.run_now`)."""


def count_rows(unit: UnitOfWork) -> int:
    """Rows with something sealed in them."""
    return sum(
        unit.session.scalar(select(func.count()).select_from(table)) or 0
        for table, _ in _sealed_columns()
    )


def seal_anew(run: Run, seen: Callable[[int], None]) -> int:
    """Seal with the newest key what is sealed with an older one; gives how many texts that were.

    Args:
        seen: called with the number of rows that have been looked at since the last call.
    """
    changed = 0
    for table, columns in _sealed_columns():
        last: int | None = 0
        while last is not None:
            last, looked_at, sealed = run(_seal_some, table, columns, last)
            changed += sealed
            seen(looked_at)
    return changed


def _seal_some(
    unit: UnitOfWork, table: Table, columns: Sequence[Column[Any]], after: int
) -> tuple[int | None, int, int]:
    """The next rows of a table; gives the last (None: no more), and how many rows and texts."""
    (key,) = table.primary_key
    encryption = unit.encryption
    rows = unit.session.execute(
        select(key, *columns).where(key > after).order_by(key).limit(AT_ONCE)
    ).all()
    changed = 0
    for row in rows:
        for column, sealed in zip(columns, row[1:], strict=True):
            if not sealed or encryption.is_newest(sealed):
                continue
            try:
                text = encryption.decrypt(sealed, keep=False)
            except Unopened:
                log.error("a row of %s cannot be opened and stays as it is", table.name)
                continue
            # Somebody may have written it meanwhile: then that stays.
            unit.session.execute(
                update(table)
                .where(and_(key == row[0], column == sealed))
                .values({column.name: encryption.encrypt(text, keep=False)})
            )
            changed += 1
    unit.commit()
    return (rows[-1][0] if len(rows) == AT_ONCE else None), len(rows), changed


def note_change(unit: UnitOfWork, now: datetime) -> None:
    """The store is sealed with the newest key since now; commits."""
    row = unit.session.get_one(KeyProofRow, 1)
    if row.key_name != unit.encryption.name:
        row.key_name, row.changed_at = unit.encryption.name, now
    unit.commit()


def renew_chats(unit: UnitOfWork) -> None:
    """Seal all addresses of chats with the newest key, in one transaction; commits."""
    encryption = unit.encryption
    row = unit.session.get_one(KeyProofRow, 1)
    before = row.chats_name
    if before == encryption.name:
        return
    opened = []
    for table in SQLModel.metadata.sorted_tables:
        for column in table.columns:
            if isinstance(column.type, ChatAddress):
                (key,) = table.primary_key
                rows = unit.session.execute(select(key, column)).all()
                opened.append((table, key, column, rows))
    encryption.seal_chats_with(encryption.name)
    try:
        for table, key, column, rows in opened:
            for row_id, address in rows:
                if address == NOBODYS:
                    # What cannot be opened stays as it is.
                    continue
                unit.session.execute(
                    update(table).where(key == row_id).values({column.name: address})
                )
        row.chats_name = encryption.name
        unit.commit()
    except BaseException:
        encryption.seal_chats_with(before)
        raise


def older_key_needed(unit: UnitOfWork, now: datetime) -> str:
    """Why older keys must stay, in words for the operator, or ""."""
    encryption = unit.encryption
    row = unit.session.get_one(KeyProofRow, 1)
    if row.key_name != encryption.name:
        return "the change of the key has not come to its end; run dayrung key change again"
    if row.chats_name != encryption.name:
        return "chats are sealed with the newest key at the next start of the service"
    if row.changed_at is None:
        return ""
    until = unit.session.exec(
        select_rows(func.max(col(InvitationRow.expires_at))).where(
            col(InvitationRow.used_at).is_(None),
            InvitationRow.expires_at > now,
            InvitationRow.made_at <= row.changed_at,
        )
    ).one()
    return f"an invitation from before is good until {until:%Y-%m-%d %H:%M} UTC" if until else ""


def _sealed_columns() -> list[tuple[Table, list[Column[Any]]]]:
    """Tables with their sealed columns; the proof first (it is sealed anew before all of them,
    :func:`bot.storage.key_proof.prove_newest`)."""
    found = []
    for table in sorted(SQLModel.metadata.sorted_tables, key=lambda one: one is not PROOF):
        columns = [
            one
            for one in table.columns
            if one.name.endswith("_sealed") and isinstance(one.type, String)
        ]
        if columns:
            found.append((table, columns))
    return found
