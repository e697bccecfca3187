"""Alerts that are told and told again until somebody has seen them."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlmodel import col, select

from bot.storage.tables import AlertRow, ClientRow
from bot.storage.unit import UnitOfWork, stored_id
from core.vocabulary import AlertId, AlertLevel, PersonId


@dataclass(frozen=True, slots=True)
class ChasedAlert:
    """Whom an alert is about, and when it is next looked at (None: not any more)."""

    client_id: PersonId
    chase_due_at: datetime | None


def chased_alert(unit: UnitOfWork, alert_id: AlertId) -> ChasedAlert:
    """One alert, which must be there."""
    row = unit.session.get_one(AlertRow, alert_id)
    return ChasedAlert(PersonId(row.client_id), row.chase_due_at)


def claim_chases(unit: UnitOfWork, now: datetime, most: int) -> Sequence[AlertId]:
    """Open alerts whose moment has come, the longest due first, in one statement.

    Rows that another program holds are skipped.
    """
    rows = unit.session.exec(
        select(AlertRow)
        .where(col(AlertRow.closed_at).is_(None), col(AlertRow.chase_due_at) <= now)
        .order_by(col(AlertRow.chase_due_at))
        .limit(most)
        .with_for_update(skip_locked=True)
    ).all()
    return [AlertId(stored_id(row)) for row in rows]


def set_chase_due(unit: UnitOfWork, alert_id: AlertId, at: datetime | None) -> None:
    """When an alert is next looked at; None: not any more. The caller commits."""
    unit.session.get_one(AlertRow, alert_id).chase_due_at = at


def count_chase(unit: UnitOfWork, alert_id: AlertId) -> None:
    """An alert has been told once more; the caller commits."""
    unit.session.get_one(AlertRow, alert_id).chases += 1


def hurry_unseen(unit: UnitOfWork, coaches: Sequence[PersonId], now: datetime) -> None:
    """Alerts that nobody has seen, of the clients of these coaches, are due now.

    Mentions are not chased. The caller commits.
    """
    rows = unit.session.exec(
        select(AlertRow)
        .join(ClientRow, col(ClientRow.person_id) == AlertRow.client_id)
        .where(
            col(ClientRow.coach_id).in_(list(coaches)),
            AlertRow.level != AlertLevel.MENTION,
            col(AlertRow.closed_at).is_(None),
            col(AlertRow.seen_at).is_(None),
        )
    ).all()
    for row in rows:
        row.chase_due_at = now
