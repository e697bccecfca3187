"""Persons and the chats that speak for them."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import bindparam, update
from sqlmodel import col, func, select

from bot.flows.facts import Person
from bot.storage.prepared import Prepared, find, get
from bot.storage.tables import AddressRow, PersonRow
from bot.storage.unit import UnitOfWork, stored_id
from core.vocabulary import PersonId, Role


@dataclass(frozen=True, slots=True)
class Address:
    """A chat: which channel, and the chat as the channel knows it."""

    channel: str
    address: str


# Asked with each arrival, so put into SQL once.
_SPEAKERS: Prepared[PersonRow] = Prepared(
    select(PersonRow)
    .join(AddressRow, col(AddressRow.person_id) == PersonRow.id)
    .where(
        AddressRow.channel == bindparam("channel"),
        AddressRow.address == bindparam("address"),
        col(AddressRow.unbound_at).is_(None),
    )
    .order_by(col(AddressRow.used_at).desc(), col(AddressRow.id).desc())
)
_ADDRESSES: Prepared[AddressRow] = Prepared(
    select(col(AddressRow.channel), col(AddressRow.address))
    .where(
        AddressRow.person_id == bindparam("person_id"),
        col(AddressRow.blocked_at).is_(None),
        col(AddressRow.unbound_at).is_(None),
    )
    .order_by(col(AddressRow.used_at).desc(), col(AddressRow.id).desc())
)
_ROW = select(AddressRow).where(
    AddressRow.person_id == bindparam("person_id"),
    AddressRow.channel == bindparam("channel"),
    AddressRow.address == bindparam("address"),
)
# An address that is open stays so: only the moment changes, which nobody watches.
_TABLE = AddressRow.metadata.tables["address"]
_USED: Prepared[AddressRow] = Prepared(
    update(_TABLE)
    .where(
        _TABLE.c.person_id == bindparam("person"),
        _TABLE.c.channel == bindparam("at_channel"),
        _TABLE.c.address == bindparam("at_address"),
        _TABLE.c.blocked_at.is_(None),
        _TABLE.c.used_at < bindparam("now"),
    )
    .values(used_at=bindparam("now"))
)
_REACHED: Prepared[AddressRow] = Prepared(
    update(_TABLE)
    .where(
        _TABLE.c.channel == bindparam("at_channel"),
        _TABLE.c.address == bindparam("at_address"),
        _TABLE.c.blocked_at.is_not(None),
        _TABLE.c.unbound_at.is_(None),
    )
    .values(blocked_at=None)
    .returning(_TABLE.c.person_id)
)


def person_of(unit: UnitOfWork, row: PersonRow) -> Person:
    """The value of a row."""
    return Person(
        id=PersonId(stored_id(row)),
        role=Role(row.role),
        name=unit.encryption.opened(row.name_sealed),
        country=row.country,
        zone=row.zone,
        left=row.left_at is not None,
    )


def add_person(unit: UnitOfWork, role: Role, name: str, now: datetime) -> PersonId:
    """A new person without a chat yet."""
    row = PersonRow(role=role, name_sealed=unit.encryption.encrypt(name), created_at=now)
    unit.session.add(row)
    unit.session.flush()
    return PersonId(stored_id(row))


def get_person(unit: UnitOfWork, person_id: PersonId) -> Person:
    """One person by id."""
    return person_of(unit, get(unit, PersonRow, person_id))


def is_person(unit: UnitOfWork, person_id: PersonId) -> bool:
    """Whether somebody has this id."""
    return find(unit, PersonRow, person_id) is not None


def speakers(unit: UnitOfWork, channel: str, address: str) -> Sequence[Person]:
    """The persons that a chat speaks for, the one used last first."""
    rows = _SPEAKERS.all(unit, channel=channel, address=address)
    return [person_of(unit, row) for row in rows]


def speaks_for(unit: UnitOfWork, at: Address, person_id: PersonId) -> bool:
    """Whether a chat speaks for this person."""
    row = _row(unit, person_id, at)
    return row is not None and row.unbound_at is None


def addresses_of(unit: UnitOfWork, person_id: PersonId) -> Sequence[Address]:
    """The chats of a person that can be written to, the one used last first."""
    rows = _ADDRESSES.all(unit, person_id=person_id)
    return [Address(row.channel, row.address) for row in rows]


def chats_to_try(unit: UnitOfWork, person_id: PersonId) -> Sequence[Address]:
    """The chats that can be written to; where all are closed, the one that was used last.

    For what somebody must not miss: a chat is closed until a message has got through again.
    """
    found = addresses_of(unit, person_id)
    if found:
        return found
    row = unit.session.exec(
        select(AddressRow)
        .where(AddressRow.person_id == person_id, col(AddressRow.unbound_at).is_(None))
        .order_by(col(AddressRow.used_at).desc(), col(AddressRow.id).desc())
    ).first()
    return [] if row is None else [Address(row.channel, row.address)]


def chat_to_go_on_in(unit: UnitOfWork, person_id: PersonId, at: Address) -> Address | None:
    """Where to go on with what was begun in the chat ``at``: there, as long as it is open.

    A phone that was cut off hears nothing more: then on the one used last, or nowhere.
    """
    found = addresses_of(unit, person_id)
    if at in found:
        return at
    if found:
        return found[0]
    return at if speaks_for(unit, at, person_id) else None


def bind(unit: UnitOfWork, person_id: PersonId, at: Address, now: datetime) -> None:
    """Let a chat speak for a person."""
    row = _row(unit, person_id, at)
    if row is None:
        row = AddressRow(
            channel=at.channel,
            address=at.address,
            person_id=person_id,
            bound_at=now,
            used_at=now,
        )
    row.used_at, row.blocked_at, row.unbound_at = now, None, None
    unit.session.add(row)
    unit.session.flush()


def unbind_all(unit: UnitOfWork, person_id: PersonId, now: datetime) -> None:
    """No chat speaks for this person any more (a lost phone)."""
    for row in unit.session.exec(select(AddressRow).where(AddressRow.person_id == person_id)):
        row.unbound_at = now
        unit.session.add(row)


def touch(unit: UnitOfWork, person_id: PersonId, at: Address, now: datetime) -> bool:
    """This chat was used now: it is reachable, and the first to write to.

    Gives whether the person could be written to nowhere before.
    """
    if _USED.run(unit, person=person_id, at_channel=at.channel, at_address=at.address, now=now):
        return False
    row = _row(unit, person_id, at)
    if row is None or (row.used_at >= now and row.blocked_at is None):
        return False
    back = row.blocked_at is not None and not addresses_of(unit, person_id)
    row.used_at, row.blocked_at = now, None
    unit.session.add(row)
    return back


def heard_last(unit: UnitOfWork, person_id: PersonId) -> datetime | None:
    """When the newest message or tap of a person came, on any chat."""
    newest = select(func.max(AddressRow.used_at)).where(AddressRow.person_id == person_id)
    return unit.session.exec(newest).one()


def mark_blocked(unit: UnitOfWork, at: Address, now: datetime) -> Sequence[PersonId]:
    """The chat cannot be written to; gives the persons it spoke for."""
    rows = unit.session.exec(
        select(AddressRow).where(
            AddressRow.channel == at.channel,
            AddressRow.address == at.address,
            col(AddressRow.blocked_at).is_(None),
        )
    ).all()
    for row in rows:
        row.blocked_at = now
        unit.session.add(row)
    unit.session.flush()
    return [PersonId(row.person_id) for row in rows]


def mark_reached(unit: UnitOfWork, at: Address) -> Sequence[PersonId]:
    """A message has got through to this chat: it can be written to, whatever was known of it.

    Gives the persons it speaks for, where it was marked as closed.
    """
    rows = _REACHED.all(unit, at_channel=at.channel, at_address=at.address)
    return [PersonId(row.person_id) for row in rows]


def unreachable_since(unit: UnitOfWork, person_id: PersonId) -> datetime | None:
    """When the last chat of a person closed; None where there has been none."""
    rows = unit.session.exec(select(AddressRow).where(AddressRow.person_id == person_id)).all()
    closed = [moment for row in rows for moment in (row.blocked_at, row.unbound_at) if moment]
    return max(closed, default=None)


def _row(unit: UnitOfWork, person_id: PersonId, at: Address) -> AddressRow | None:
    where = {"person_id": person_id, "channel": at.channel, "address": at.address}
    return unit.session.exec(_ROW, params=where).first()
