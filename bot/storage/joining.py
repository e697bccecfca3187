"""Redeeming an invitation: a single-use code becomes a person with a chat."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from sqlmodel import col, select

from bot.storage import people
from bot.storage.people import Address
from bot.storage.tables import ClientRow, CoachRow, InvitationRow
from bot.storage.unit import UnitOfWork
from core.vocabulary import PersonId, Role


class RedeemRefusal(StrEnum):
    """Why a code cannot be redeemed."""

    UNKNOWN = "unknown"
    USED = "used"
    EXPIRED = "expired"
    TOO_MANY = "too_many"


@dataclass(frozen=True, slots=True)
class Redeemed:
    """A code was redeemed.

    Attributes:
        flow: the conversation to open.
        rebound: this is a new phone of somebody known.
        left: their chats until now, which speak for them no more.
    """

    person_id: PersonId
    flow: str
    rebound: bool
    left: Sequence[Address] = ()


def is_known(unit: UnitOfWork, hashed: Sequence[str]) -> bool:
    """Whether there ever was an invitation with this code: most words of 8 letters are none.

    Args:
        hashed: the code's hash with each key that is known.
    """
    found = unit.session.exec(
        select(InvitationRow.id).where(col(InvitationRow.code_hash).in_(hashed))
    )
    return found.first() is not None


def end_new_phone_codes(unit: UnitOfWork, of: Collection[PersonId], now: datetime) -> None:
    """No code for a new phone of these people is good any more.

    Such a code brings its person's whole chat to whoever types it, so it ends, too, when somebody
    who can have it is their coach or stand-in no more.
    """
    for row in unit.session.exec(
        select(InvitationRow).where(
            col(InvitationRow.rebinds_id).in_(of),
            col(InvitationRow.used_at).is_(None),
            InvitationRow.expires_at > now,
        )
    ):
        row.expires_at = now


def redeem(
    unit: UnitOfWork, hashed: Sequence[str], at: Address, now: datetime
) -> Redeemed | RedeemRefusal:
    """Redeem an invitation for a chat; the caller commits. ``hashed``: as for :func:`is_known`."""
    row = unit.session.exec(
        select(InvitationRow).where(col(InvitationRow.code_hash).in_(hashed)).with_for_update()
    ).first()
    if row is None:
        return RedeemRefusal.UNKNOWN
    if row.used_at is not None:
        return RedeemRefusal.USED
    if row.expires_at <= now:
        return RedeemRefusal.EXPIRED
    role = Role(row.role)
    rebound = row.rebinds_id is not None
    left: Sequence[Address] = ()
    if row.rebinds_id is not None:
        person_id = PersonId(row.rebinds_id)
        left = [old for old in people.addresses_of(unit, person_id) if old != at]
        people.unbind_all(unit, person_id, now)
        end_new_phone_codes(unit, {person_id}, now)
    else:
        person_id = people.add_person(unit, role, unit.encryption.decrypt(row.name_sealed), now)
        if role is Role.COACH:
            unit.session.add(CoachRow(person_id=person_id))
        elif row.coach_id is not None:
            unit.session.add(ClientRow(person_id=person_id, coach_id=row.coach_id))
    row.used_at, row.used_by_id = now, person_id
    people.bind(unit, person_id, at, now)
    unit.session.flush()
    return Redeemed(person_id, "join" if role is Role.CLIENT else "coach_join", rebound, left)
