"""What is left to do of an erasure once it is committed: pictures, the spool, the database's files.

Until that is done a row says so, and a start that finds the row does it.
"""

import json
from datetime import datetime

from sqlmodel import col, select

from bot.storage.erasing.erased import Erased
from bot.storage.tables import AddressRow, ClientRow, OutboxRow, RoundRow
from bot.storage.unit import UnitOfWork

UNFINISHED = "erasure"
"""Name of the row that stands while files are still to be cleaned."""


def mark_unfinished(unit: UnitOfWork, now: datetime) -> None:
    """Files are to be cleaned; with the caller's commit."""
    row = unit.session.get(RoundRow, UNFINISHED) or RoundRow(name=UNFINISHED, handled_until=now)
    row.handled_until = now
    unit.session.add(row)


def mark_finished(unit: UnitOfWork) -> None:
    """All files are clean; commits."""
    row = unit.session.get(RoundRow, UNFINISHED)
    if row is not None:
        unit.session.delete(row)
        unit.commit()


def unfinished(unit: UnitOfWork) -> list[Erased]:
    """Whose files may still have to be cleaned, without their pictures; [] when nothing is left."""
    if unit.session.get(RoundRow, UNFINISHED) is None:
        return []
    rows = unit.session.exec(
        select(AddressRow)
        .join(ClientRow, col(ClientRow.person_id) == AddressRow.person_id)
        .where(col(ClientRow.erase_asked_at).is_not(None))
    )
    return [Erased(row.person_id, ((row.channel, row.address),)) for row in rows]


def pictures_waiting(unit: UnitOfWork) -> frozenset[str]:
    """Content ids of pictures that are still to be sent."""
    rows = unit.session.exec(
        select(OutboxRow.payload_sealed).where(
            OutboxRow.status == "waiting", OutboxRow.payload_sealed != ""
        )
    )
    said = (json.loads(unit.encryption.opened(one) or "{}") for one in rows)
    return frozenset(one.get("picture") or "" for one in said)
