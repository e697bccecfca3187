"""Alerts that are told and told again until somebody has seen them."""

from collections.abc import Collection, Mapping, Sequence
from datetime import datetime
from typing import Literal, Protocol, cast

from sqlalchemy import bindparam
from sqlalchemy.orm import Mapped
from sqlmodel import col, select

from bot.storage.people import addresses_of
from bot.storage.prepared import Prepared
from bot.storage.tables import AlertRow, ClientRow, CoachRow
from bot.storage.unit import UnitOfWork, stored_id
from core.vocabulary import AlertId, AlertLevel, PersonId

Due = Literal["chase_due_at", "client_due_at"]
"""When coaches are told again; when the client hears that nobody has seen it."""


def _claim_of(due_at: Mapped[datetime | None]) -> Prepared[AlertRow]:
    return Prepared(
        select(col(AlertRow.id))
        .where(col(AlertRow.closed_at).is_(None), due_at <= bindparam("now"))
        .order_by(due_at)
        .limit(bindparam("most"))
        .with_for_update(skip_locked=True)
    )


_CLAIMED: Mapping[Due, Prepared[AlertRow]] = {
    "chase_due_at": _claim_of(col(AlertRow.chase_due_at)),
    "client_due_at": _claim_of(col(AlertRow.client_due_at)),
}


class ChasedAlert(Protocol):
    """What chasing keeps of an alert; what is set on it is stored when the caller commits.

    Attributes:
        chase_due_at: when it is next looked at (None: not any more).
        chases: how often it went out since the newest sign.
        unseen_since: since when nobody has seen it.
        backup_told: the stand-in has been told since then.
        told_upto: how many of its words have been said to a coach.
        untold: what was last to be said of it reached nobody.
        client_told, client_due_at: how often the client has heard that nobody has seen it, and
            when that is said next.
    """

    chase_due_at: datetime | None
    chases: int
    unseen_since: datetime | None
    backup_told: bool
    told_upto: int
    untold: bool
    client_told: int
    client_due_at: datetime | None

    @property
    def client_id(self) -> PersonId:
        """Whom it is about."""
        ...


def chased_alert(unit: UnitOfWork, alert_id: AlertId) -> ChasedAlert:
    """One alert, which must be there."""
    return cast(ChasedAlert, unit.session.get_one(AlertRow, alert_id))


def claim_due(unit: UnitOfWork, due: Due, now: datetime, most: int) -> Sequence[AlertId]:
    """Open alerts whose moment has come, the longest due first, in one statement.

    Rows that another program holds are skipped.
    """
    return [AlertId(stored_id(row)) for row in _CLAIMED[due].all(unit, now=now, most=most)]


def look_again(unit: UnitOfWork, alert_id: AlertId, due: Due, at: datetime) -> None:
    """When an alert is next looked at after a fault; the caller commits."""
    setattr(unit.session.get_one(AlertRow, alert_id), due, at)


def look_again_now(unit: UnitOfWork, alert_ids: Collection[AlertId], now: datetime) -> None:
    """What these alerts said did not arrive: they are due now, and seen ones tell all words again.

    An alert whose coach can be reached is left as it is: she has been told. The caller commits.
    """
    for alert_id in sorted(alert_ids):
        row = unit.session.get_one(AlertRow, alert_id)
        seen = row.seen_at is not None
        coach_id = unit.session.get_one(ClientRow, row.client_id).coach_id
        over = row.closed_at is not None or (seen and row.level == AlertLevel.MENTION)
        if over or addresses_of(unit, PersonId(coach_id)):
            continue
        row.chase_due_at, row.untold = now, True
        row.told_upto = 0 if seen else row.told_upto


def keep_untold(unit: UnitOfWork, alert_id: AlertId) -> bool:
    """What an alert said will never arrive; gives whether nothing else tells it again.

    An alert that nobody has seen is chased on. The caller commits.
    """
    row = unit.session.get_one(AlertRow, alert_id)
    chased = row.level != AlertLevel.MENTION and row.seen_at is None
    if chased or row.closed_at is not None:
        return False
    row.untold, row.told_upto = True, 0
    return True


def hurry_unseen(unit: UnitOfWork, coaches: Sequence[PersonId], now: datetime) -> None:
    """Alerts that nobody has seen, of the clients of these coaches, are due now.

    Mentions are not chased. The caller commits.
    """
    for row in unit.session.exec(
        select(AlertRow)
        .join(ClientRow, col(ClientRow.person_id) == AlertRow.client_id)
        .where(
            col(ClientRow.coach_id).in_(list(coaches)),
            AlertRow.level != AlertLevel.MENTION,
            col(AlertRow.closed_at).is_(None),
            col(AlertRow.seen_at).is_(None),
        )
    ).all():
        row.chase_due_at = now


def hurry_for(unit: UnitOfWork, coach_id: PersonId, now: datetime) -> None:
    """A coach can be reached again: what nobody has seen meanwhile is due now, not an hour later.

    So is what reached nobody: words on an alert that she had seen, a message. Also that of the
    clients of coaches without a chat, for whom she stands in. The caller commits.
    """
    stands_in_for = select(CoachRow.person_id).where(CoachRow.backup_id == coach_id)
    alone = [
        PersonId(other)
        for other in unit.session.exec(stands_in_for).all()
        if not addresses_of(unit, PersonId(other))
    ]
    hurry_unseen(unit, [coach_id, *alone], now)
    for row in unit.session.exec(
        select(AlertRow)
        .join(ClientRow, col(ClientRow.person_id) == AlertRow.client_id)
        .where(
            col(ClientRow.coach_id).in_([coach_id, *alone]),
            col(AlertRow.untold),
            col(AlertRow.closed_at).is_(None),
        )
    ).all():
        row.chase_due_at = now
