"""Whom each chat speaks for, and who hears about them: a copy for when the store fails."""

import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from sqlalchemy import event, inspect
from sqlalchemy.orm import Session
from sqlmodel import col, select

from bot.storage.database import Database
from bot.storage.people import Address
from bot.storage.tables import AddressRow, ClientRow, CoachRow, PersonRow
from bot.storage.unit import UnitOfWork, stored_id
from core.vocabulary import PersonId, Role

_CHANGED = "directory_changed"

_DIRECTORY_COLUMNS: tuple[tuple[type[object], tuple[str, ...]], ...] = (
    (PersonRow, ("role", "name_sealed", "country", "left_at")),
    (AddressRow, ("channel", "address", "person_id", "blocked_at", "unbound_at")),
    (CoachRow, ("backup_id",)),
    (ClientRow, ("coach_id", "profile_sealed")),
)
"""The columns that the directory is read from; a change of one makes it stale."""


@dataclass(frozen=True, slots=True)
class Listed:
    """One person.

    Attributes:
        chats: where they can be written to, the one used last first.
        phone: a client's number, or "".
        recipients: who hears about a client, the coach first, then the one who stands in.
    """

    id: PersonId
    role: Role
    name: str
    country: str
    chats: tuple[Address, ...] = ()
    phone: str = ""
    recipients: tuple[PersonId, ...] = ()


@dataclass(frozen=True, slots=True)
class Directory:
    """All persons, and whom each chat speaks for (the person who used it last first)."""

    persons: Mapping[PersonId, Listed] = field(default_factory=dict)
    speakers: Mapping[Address, Sequence[PersonId]] = field(default_factory=dict)

    def likely_speaker(self, at: Address) -> Listed | None:
        """The person whose words these are; on a shared chat a client rather than a coach."""
        return next(iter([*self.clients(at), *self._speakers(at)]), None)

    def clients(self, at: Address) -> Sequence[Listed]:
        """The clients whose words these may be, the one who used the chat last first."""
        return [one for one in self._speakers(at) if one.role is Role.CLIENT]

    def _speakers(self, at: Address) -> Sequence[Listed]:
        return [self.persons[one] for one in self.speakers.get(at, ()) if one in self.persons]


def load_directory(unit: UnitOfWork) -> Directory:
    """The directory as it stands now."""
    chats: dict[int, list[Address]] = {}
    speakers: dict[Address, list[PersonId]] = {}
    for address in unit.session.exec(
        select(AddressRow)
        .where(col(AddressRow.unbound_at).is_(None))
        .order_by(col(AddressRow.used_at).desc(), col(AddressRow.id).desc())
    ):
        at = Address(address.channel, address.address)
        speakers.setdefault(at, []).append(PersonId(address.person_id))
        if address.blocked_at is None:
            chats.setdefault(address.person_id, []).append(at)
    clients = {row.person_id: row for row in unit.session.exec(select(ClientRow))}
    backups = {row.person_id: row.backup_id for row in unit.session.exec(select(CoachRow))}
    persons = {}
    for row in unit.session.exec(select(PersonRow).where(col(PersonRow.left_at).is_(None))):
        person_id = stored_id(row)
        client = clients.get(person_id)
        recipients = () if client is None else (client.coach_id, backups.get(client.coach_id))
        persons[PersonId(person_id)] = Listed(
            id=PersonId(person_id),
            role=Role(row.role),
            name=unit.encryption.opened(row.name_sealed),
            country=row.country,
            chats=tuple(chats.get(person_id, ())),
            phone="" if client is None else _phone(unit, client),
            recipients=tuple(PersonId(one) for one in recipients if one is not None),
        )
    return Directory(persons, speakers)


def watch_directory(database: Database, changed: Callable[[], None]) -> Callable[[], None]:
    """Call ``changed``, on a store thread, after each commit that changes the directory.

    Gives a function that ends the watch.
    """

    def after_flush(session: Session, _context: Any) -> None:
        if session.get_bind() is database.engine and any(
            map(_changes_directory, _touched(session))
        ):
            session.info[_CHANGED] = True

    def after_commit(session: Session) -> None:
        if session.info.pop(_CHANGED, False):
            changed()

    event.listen(Session, "after_flush", after_flush)
    event.listen(Session, "after_commit", after_commit)

    def end() -> None:
        event.remove(Session, "after_flush", after_flush)
        event.remove(Session, "after_commit", after_commit)

    return end


def _touched(session: Session) -> Sequence[object]:
    return [*session.new, *session.dirty, *session.deleted]


def _changes_directory(row: object) -> bool:
    columns = next((names for kind, names in _DIRECTORY_COLUMNS if isinstance(row, kind)), ())
    return any(inspect(row).attrs[column].history.has_changes() for column in columns)


def _phone(unit: UnitOfWork, client: ClientRow) -> str:
    given = json.loads(unit.encryption.opened(client.profile_sealed) or "{}")
    return str(given.get("phone") or "")
