"""The contents of a chat, for a channel that shows the store itself (the trial page).

A message is shown once it is sent; an edit is shown in its original's place. What was erased is
not shown any more.
"""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import ColumnElement, func
from sqlmodel import col, select

from bot.flows.facts import Person
from bot.json_values import from_json
from bot.messages import TYPED, IncomingKind, Kind, Outgoing
from bot.storage.people import Address, person_of
from bot.storage.tables import (
    AddressRow,
    AlertRow,
    ClientRow,
    CoachRow,
    HoldRow,
    InboxRow,
    OutboxRow,
    PersonRow,
)
from bot.storage.unit import UnitOfWork, stored_id
from core.vocabulary import AlertLevel, Role

SHOWS_THE_STORE = "page"
"""Name of the channel whose phones show what stands here."""


@dataclass(frozen=True, slots=True)
class Received:
    """A message that reached a phone, as it reads now.

    Attributes:
        message_id: the channel's id of it.
        changed_at: when it was last changed, on the phone or about to be; None means unchanged.
    """

    row_id: int
    message_id: str
    at: datetime
    kind: Kind
    outgoing: Outgoing
    changed_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class Sent:
    """Something a person sent from a phone.

    Attributes:
        message_id: for a tap, the message whose button it was.
    """

    row_id: int
    at: datetime
    kind: IncomingKind
    text: str
    tap: str
    message_id: str


@dataclass(frozen=True, slots=True)
class Chat:
    """One phone's chat, each list oldest first. ``more``: earlier messages were left out."""

    received: Sequence[Received]
    sent: Sequence[Sent]
    more: bool


@dataclass(frozen=True, slots=True)
class Schedule:
    """When a client is next expected. ``training_days``: 1 is Monday."""

    checkin_at: str
    training_days: tuple[int, ...]
    checkin_due_at: datetime | None


@dataclass(frozen=True, slots=True)
class Phone:
    """A phone and whose it is.

    Attributes:
        stands_in: a coach who is another coach's back-up.
        schedule: for clients.
        last_received: id of the newest message on it, 0 for none.
    """

    address: str
    person: Person
    stands_in: bool
    joined: bool
    cleared: bool
    on_hold: bool
    unseen_alert: bool
    schedule: Schedule | None
    last_received: int


@dataclass(frozen=True, slots=True)
class Mark:
    """Differs whenever something on a page may look different."""

    sent: int
    received: int
    arrived: int
    waiting: int
    phones: int


def mark(unit: UnitOfWork, channel: str) -> Mark:
    """The change marker of a channel."""
    sent, received = unit.session.execute(
        select(func.count(), func.max(col(OutboxRow.id))).where(
            col(OutboxRow.channel) == channel, col(OutboxRow.status) == "sent"
        )
    ).one()
    arrived = unit.session.scalar(
        select(func.max(col(InboxRow.id))).where(col(InboxRow.channel) == channel)
    )
    waiting = unit.session.scalar(
        select(func.count(col(InboxRow.id))).where(
            col(InboxRow.channel) == channel, col(InboxRow.status) == "waiting"
        )
    )
    bound = unit.session.scalar(select(func.count(col(AddressRow.id))))
    return Mark(
        int(sent or 0), int(received or 0), int(arrived or 0), int(waiting or 0), int(bound or 0)
    )


def chat(unit: UnitOfWork, at: Address, most: int) -> Chat:
    """The newest ``most`` messages of a chat, and what the person sent among them."""
    originals = unit.session.exec(
        select(OutboxRow)
        .where(*_sent_to(at), col(OutboxRow.edits_id).is_(None))
        .order_by(col(OutboxRow.id).desc())
        .limit(most)
    ).all()
    changes = _changes(unit, at, [stored_id(row) for row in originals])
    sent = unit.session.exec(
        select(InboxRow)
        .where(InboxRow.channel == at.channel, InboxRow.address == at.address)
        .order_by(col(InboxRow.id).desc())
        .limit(most)
    ).all()
    more = len(originals) == most or len(sent) == most
    oldest = min((row.created_at for row in originals), default=None)
    if len(originals) == most and oldest is not None:
        sent = [row for row in sent if row.received_at >= oldest]
    return Chat(
        received=[
            _received(unit, row, changes.get(stored_id(row), [])) for row in reversed(originals)
        ],
        sent=[_sent(unit, row) for row in reversed(sent) if _is_shown(row)],
        more=more,
    )


def phones(unit: UnitOfWork, channel: str) -> Sequence[Phone]:
    """All phones of a channel that speak for somebody, in the order they were bound."""
    rows = unit.session.exec(
        select(AddressRow, PersonRow)
        .join(PersonRow, col(PersonRow.id) == col(AddressRow.person_id))
        .where(AddressRow.channel == channel, col(AddressRow.unbound_at).is_(None))
        .order_by(col(AddressRow.id))
    ).all()
    clients = {row.person_id: row for row in unit.session.exec(select(ClientRow))}
    stand_ins = set(unit.session.exec(select(CoachRow.backup_id)))
    held = set(unit.session.exec(select(HoldRow.client_id).where(col(HoldRow.lifted_at).is_(None))))
    alarmed = set(
        unit.session.exec(
            select(AlertRow.client_id).where(
                col(AlertRow.seen_at).is_(None),
                col(AlertRow.closed_at).is_(None),
                AlertRow.level != AlertLevel.MENTION,
            )
        )
    )
    newest: dict[str, int] = {
        address: last or 0
        for address, last in unit.session.execute(
            select(col(OutboxRow.address), func.max(col(OutboxRow.id)))
            .where(col(OutboxRow.channel) == channel, col(OutboxRow.status) == "sent")
            .group_by(col(OutboxRow.address))
        )
    }
    return [
        _phone(unit, address, person, clients, stand_ins, held, alarmed, newest)
        for address, person in rows
    ]


def _phone(
    unit: UnitOfWork,
    address: AddressRow,
    row: PersonRow,
    clients: Mapping[int, ClientRow],
    stand_ins: set[int | None],
    held: set[int],
    alarmed: set[int],
    newest: Mapping[str, int],
) -> Phone:
    person = person_of(unit, row)
    client = clients.get(person.id) if person.role is Role.CLIENT else None
    return Phone(
        address=address.address,
        person=person,
        stands_in=person.id in stand_ins,
        joined=client is None or client.joined_at is not None,
        cleared=client is None or client.cleared_at is not None,
        on_hold=person.id in held,
        unseen_alert=person.id in alarmed,
        schedule=None if client is None else _schedule(client),
        last_received=newest.get(address.address, 0),
    )


def _schedule(row: ClientRow) -> Schedule:
    days = tuple(int(day) for day in row.training_days.split(",") if day)
    return Schedule(row.checkin_at, days, row.checkin_due_at)


def _sent_to(at: Address) -> tuple[ColumnElement[bool], ...]:
    return (*_to(at), col(OutboxRow.status) == "sent")


def _to(at: Address) -> tuple[ColumnElement[bool], ...]:
    return (
        col(OutboxRow.channel) == at.channel,
        col(OutboxRow.address) == at.address,
        col(OutboxRow.payload_sealed) != "",
    )


def _changes(
    unit: UnitOfWork, at: Address, ids: Sequence[int]
) -> Mapping[int, Sequence[OutboxRow]]:
    """The edits of each message that were sent or will be, oldest first, by the message's row."""
    rows = unit.session.exec(
        select(OutboxRow)
        .where(
            *_to(at),
            col(OutboxRow.edits_id).in_(ids),
            col(OutboxRow.status).in_(("sent", "waiting")),
        )
        .order_by(col(OutboxRow.id))
    )
    found: dict[int, list[OutboxRow]] = defaultdict(list)
    for row in rows:
        if row.edits_id is not None:
            found[row.edits_id].append(row)
    return found


def _received(unit: UnitOfWork, row: OutboxRow, changes: Sequence[OutboxRow]) -> Received:
    shown = [row, *(change for change in changes if change.status == "sent")][-1]
    return Received(
        row_id=stored_id(row),
        message_id=row.platform_id,
        at=row.created_at,
        kind=Kind(row.kind),
        outgoing=from_json(Outgoing, unit.encryption.decrypt_json(shown.payload_sealed)),
        changed_at=changes[-1].created_at if changes else None,
    )


def _is_shown(row: InboxRow) -> bool:
    """Not what was erased, and no tap of which it is open whether it changes its message."""
    if row.kind in TYPED:
        return row.text_sealed != ""
    return row.kind != IncomingKind.TAP or row.status != "waiting"


def _sent(unit: UnitOfWork, row: InboxRow) -> Sent:
    return Sent(
        row_id=stored_id(row),
        at=row.received_at,
        kind=IncomingKind(row.kind),
        text=unit.encryption.decrypt(row.text_sealed),
        tap=unit.encryption.decrypt(row.tap_sealed),
        message_id=row.message_id,
    )
