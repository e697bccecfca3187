"""What the operator does about coaches: cut a lost phone off, let one go, move her clients."""

import logging
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import ColumnElement, update
from sqlmodel import col, func, or_, select

from bot.errors import SettingsError
from bot.flows import changes as wanted
from bot.storage import outbox, people
from bot.storage.changes.applying import Applying
from bot.storage.changes.people import move_waiting
from bot.storage.joining import end_new_phone_codes
from bot.storage.outbox import Undelivered
from bot.storage.questions.chased_alerts import hurry_for, hurry_unseen, look_again_now
from bot.storage.tables import ClientRow, CoachRow, InvitationRow, PersonRow
from bot.storage.unit import UnitOfWork
from core.vocabulary import PersonId, Role

log = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class CoachListed:
    """A coach as the operator sees her.

    Attributes:
        chats: how many chats speak for her and can be written to.
        clients: how many are hers and have not left.
        backup: the number of who stands in, or None.
    """

    id: PersonId
    name: str
    chats: int
    clients: int
    backup: PersonId | None
    left: bool


def coaches_listed(unit: UnitOfWork) -> Sequence[CoachListed]:
    """Every coach there has been."""
    rows = unit.session.exec(
        select(PersonRow, CoachRow)
        .join(CoachRow, col(CoachRow.person_id) == PersonRow.id)
        .order_by(col(PersonRow.id))
    ).all()
    return [
        CoachListed(
            id=person.id,
            name=person.name,
            chats=len(people.addresses_of(unit, person.id)),
            clients=_clients_of(unit, person.id),
            backup=None if coach.backup_id is None else PersonId(coach.backup_id),
            left=person.left,
        )
        for person, coach in ((people.person_of(unit, row), coach) for row, coach in rows)
    ]


def suspend_coach(applying: Applying, coach_id: PersonId) -> Sequence[Undelivered]:
    """No chat speaks for her from now on; alerts that she has not seen go on to the next person.

    Gives all that waited for her and is never shown now: its authors think that she has it.

    Codes for a client's new phone that may have been made with hers are good no more: each would
    bring its client's whole chat to whoever holds the lost phone.

    Raises:
        SettingsError: there is no such coach.
    """
    unit, now = applying.unit, applying.now
    _coach(unit, coach_id)
    undelivered = [
        one
        for at in people.addresses_of(unit, coach_id)
        for one in outbox.refuse_chat_of(unit, at, coach_id, "the coach was suspended")
    ]
    people.unbind_all(unit, coach_id, now)
    stands_in_for = select(CoachRow.person_id).where(CoachRow.backup_id == coach_id)
    clients = select(ClientRow.person_id).where(
        or_(col(ClientRow.coach_id) == coach_id, col(ClientRow.coach_id).in_(stands_in_for))
    )
    rebinds = col(InvitationRow.rebinds_id)
    _end_invitations(unit, or_(rebinds == coach_id, rebinds.in_(clients)), now)
    unit.session.flush()
    hurry_unseen(unit, [coach_id], now)
    alerts = {one.alert_id for one in undelivered if one.alert_id is not None}
    look_again_now(unit, alerts, now)
    applying.audit(coach_id, "coach_suspended")
    return undelivered


def remove_coach(applying: Applying, coach_id: PersonId) -> Sequence[Undelivered]:
    """She is no coach any more, stands in for nobody, and has no way in.

    Gives what :func:`suspend_coach` gives.

    Raises:
        SettingsError: there is no such coach, or she has clients.
    """
    unit, now = applying.unit, applying.now
    row = _coach(unit, coach_id)
    clients = _clients_of(unit, coach_id)
    if clients:
        raise SettingsError(
            f"Coach {coach_id} has {clients} clients. Give them to another: dayrung coach move."
        )
    undelivered = suspend_coach(applying, coach_id)
    _end_invitations(unit, col(InvitationRow.coach_id) == coach_id, now)
    for other in unit.session.exec(select(CoachRow).where(CoachRow.backup_id == coach_id)):
        other.backup_id = None
        applying.audit(PersonId(other.person_id), "backup_changed")
    unit.session.get_one(CoachRow, coach_id).digest_due_at = None
    row.left_at = now
    applying.audit(coach_id, "coach_removed")
    return undelivered


def move_clients(applying: Applying, source: PersonId, target: PersonId) -> int:
    """All clients of one coach, invited ones included, are another's from now on; gives how many.

    Raises:
        SettingsError: there is no such coach.
    """
    unit, now = applying.unit, applying.now
    _coach(unit, source, gone=True)
    _coach(unit, target)
    if source == target:
        raise SettingsError("These are one and the same coach.")
    rows = unit.session.exec(select(ClientRow).where(ClientRow.coach_id == source)).all()
    for row in rows:
        row.coach_id = target
        applying.audit(PersonId(row.person_id), "coach_changed", f"{source} to {target}")
    unit.session.execute(
        update(InvitationRow)
        .where(col(InvitationRow.coach_id) == source, col(InvitationRow.used_at).is_(None))
        .values(coach_id=target)
    )
    moved = {PersonId(row.person_id) for row in rows}
    end_new_phone_codes(unit, moved, now)
    unit.session.flush()
    move_waiting(unit, source, target, moved)
    hurry_for(unit, target, now)
    return len(rows)


def hand_over(change: wanted.HandOver, applying: Applying) -> None:
    """One client is another coach's from now on; alerts that nobody has seen go on to her."""
    unit = applying.unit
    _coach(unit, change.to)
    row = unit.session.get_one(ClientRow, change.client_id)
    source, row.coach_id = row.coach_id, change.to
    applying.audit(change.client_id, "coach_changed", f"{source} to {change.to}")
    end_new_phone_codes(unit, {change.client_id}, applying.now)
    unit.session.flush()
    move_waiting(unit, PersonId(source), change.to, {change.client_id})
    hurry_unseen(unit, [change.to], applying.now)


def suspend_colleague(change: wanted.SuspendCoach, applying: Applying) -> None:
    """As the operator does it, by another coach; who did it stands in the audit."""
    log.warning(
        "coach %d was suspended by coach %d: her chats speak for her no more",
        change.coach_id,
        applying.actor,
    )
    applying.undelivered += suspend_coach(applying, change.coach_id)


def _coach(unit: UnitOfWork, coach_id: PersonId, *, gone: bool = False) -> PersonRow:
    """The coach's row; ``gone``: one who is no coach any more will do.

    Raises:
        SettingsError: there is no such coach.
    """
    row = unit.session.get(PersonRow, coach_id)
    is_one = row is not None and row.role == Role.COACH
    if row is None or not is_one or (row.left_at is not None and not gone):
        raise SettingsError(f"There is no coach {coach_id}: dayrung coach list names them.")
    return row


def _clients_of(unit: UnitOfWork, coach_id: PersonId) -> int:
    return unit.session.exec(
        select(func.count())
        .select_from(ClientRow)
        .join(PersonRow, col(PersonRow.id) == ClientRow.person_id)
        .where(ClientRow.coach_id == coach_id, col(PersonRow.left_at).is_(None))
    ).one()


def _end_invitations(unit: UnitOfWork, which: ColumnElement[bool], now: datetime) -> None:
    unused = select(InvitationRow).where(which, col(InvitationRow.used_at).is_(None))
    for row in unit.session.exec(unused).all():
        row.expires_at = min(row.expires_at, now)
