"""Erasing what a person has said and tapped, at once or, what an open alert needs, at its end.

What stays is without words: that an alert was raised, its level, when, and who saw it; who did what
when; and the chat, the country and the time zone, so that a warning sign sent later still finds its
way.
"""

import json
from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime
from typing import TypeVar

from sqlalchemy import ColumnElement, delete
from sqlmodel import Session, and_, col, or_, select
from sqlmodel.sql.expression import SelectOfScalar

from bot.messages import Kind
from bot.storage.changes.applying import Applying
from bot.storage.erasing.about import ids_in, names
from bot.storage.erasing.erased import Erased
from bot.storage.erasing.unfinished import mark_unfinished
from bot.storage.shown import SHOWS_THE_STORE
from bot.storage.tables import (
    AddressRow,
    AlertRow,
    AuditRow,
    CheckinRow,
    ClientRow,
    CoachRow,
    ConversationRow,
    HoldRow,
    InboxRow,
    InvitationRow,
    NoteRow,
    OutboxRow,
    PainRow,
    PersonRow,
    SessionRow,
    SetRow,
    WalkRow,
)
from bot.storage.told import alert_told
from bot.storage.unit import UnitOfWork
from core.vocabulary import AlertLevel, PersonId, Role, Sign

HELP_NEEDS = (
    "phone",
    "home",
    "contact_name",
    "contact_phone",
    "conditions",
    "medicines",
    "replaced_joints",
    "operations",
)
"""Answers that an alert names: kept, with the name, until it is closed."""

SAFETY_FLOW = "safety"

AS_THEY_STAND = {"populate_existing": True}

Row = TypeVar("Row")

TOLD = (NoteRow, PainRow, SetRow, WalkRow, CheckinRow, SessionRow)
"""Tables of nothing but what a client told or did; rows that are pointed at come last."""


def erase_person(person_id: PersonId, applying: Applying) -> None:
    """Words and answers go; what waits to be sent to or of this person alone is never sent.

    While an alert or a question about a sign is open, the name, its words and what help needs stay;
    :func:`finish_erasures` takes them when it is closed.
    """
    waits = _is_open(person_id, applying)
    _erase(person_id, applying, waits=waits, drops=not waits)
    applying.audit(person_id, "erase_waits_for_alert" if waits else "erased")


def finish_erasures(applying: Applying) -> None:
    """Take what was kept for an alert of somebody who wanted to be erased, now that it is closed.

    An alert that takes the place of a question in the same turn keeps it on.
    """
    for person_id in dict.fromkeys(applying.clients_closed):
        if _wants_it(person_id, applying) and not _is_open(person_id, applying):
            erase_person(person_id, applying)
    applying.unit.session.flush()


def erase_the_turn(applying: Applying, speaker: PersonId | None) -> None:
    """Take what the turn itself has left of those whose words are erased, and of one who is back.

    What it has to say is said first: its words go once it is sent.
    """
    persons = [PersonId(one.person_id) for one in applying.unit.erased]
    if speaker is not None:
        persons.append(speaker)
    for person_id in dict.fromkeys(persons):
        if _wants_it(person_id, applying):
            erase_again(person_id, applying)


def erase_again(person_id: PersonId, applying: Applying) -> None:
    """Erase somebody who is erased, for what has come since; what waits to be sent is sent."""
    _erase(person_id, applying, waits=_is_open(person_id, applying), drops=False)


def _wants_it(person_id: PersonId, applying: Applying) -> bool:
    client = applying.unit.session.get(ClientRow, person_id)
    return client is not None and client.erase_asked_at is not None


def _is_open(person_id: PersonId, applying: Applying) -> bool:
    """Whether an alert of this client is open, or a question about a sign without an answer."""
    return bool(_open_alerts(person_id, applying.unit))


def _open_alerts(person_id: PersonId, unit: UnitOfWork) -> list[AlertRow]:
    rows = unit.session.exec(
        select(AlertRow).where(
            AlertRow.client_id == person_id,
            col(AlertRow.closed_at).is_(None),
        )
    )
    return [
        row
        for row in rows
        if row.level != AlertLevel.MENTION or Sign.UNSURE in alert_told(unit.encryption, row).signs
    ]


def whole_since(person_id: PersonId, asked_at: datetime, unit: UnitOfWork) -> datetime | None:
    """When nothing of an erased client was kept back any more; ``None`` while an alert is open.

    Args:
        asked_at: when the erasure was asked for.
    """
    if _open_alerts(person_id, unit):
        return None
    closed = unit.session.exec(
        select(AlertRow.closed_at).where(
            AlertRow.client_id == person_id, col(AlertRow.closed_at).is_not(None)
        )
    ).all()
    return max([asked_at, *(at for at in closed if at is not None)])


def close_until(person_id: PersonId, whole: datetime, applying: Applying) -> bool:
    """Close what a restored store holds open though it was over by ``whole``; whether any was.

    An alert that was raised later, by words after the erasure, stays open.
    """
    old = [row for row in _open_alerts(person_id, applying.unit) if row.raised_at <= whole]
    for row in old:
        row.closed_at = whole
        row.chase_due_at = row.client_due_at = row.unseen_since = None
    applying.unit.session.flush()
    return bool(old)


def _erase(person_id: PersonId, applying: Applying, *, waits: bool, drops: bool) -> None:
    """Take everything; ``waits``: but what an open alert needs.

    Args:
        drops: what waits to be sent to this person, or about nobody else, is not sent any more.
    """
    unit, session = applying.unit, applying.unit.session
    session.flush()
    chats = [
        (row.channel, row.address)
        for row in _rows(session, select(AddressRow).where(AddressRow.person_id == person_id))
    ]
    pictures = _erase_messages(person_id, chats, applying, waits=waits, drops=drops)
    _erase_arrivals(person_id, chats, applying)
    _erase_conversations(person_id, applying, waits=waits)
    for table in TOLD:
        session.execute(delete(table).where(col(table.client_id) == person_id))
    _erase_invitations(person_id, applying)
    _erase_alerts(person_id, applying, waits=waits)
    for entry in _rows(
        session,
        select(AuditRow).where(
            or_(AuditRow.subject_id == person_id, AuditRow.actor_id == person_id),
            AuditRow.detail_sealed != "",
        ),
    ):
        entry.detail_sealed = ""
    _erase_record(person_id, applying, waits=waits)
    session.flush()
    mark_unfinished(unit, applying.now)
    client = session.get(ClientRow, person_id)
    asked_at = (client and client.erase_asked_at) or applying.now
    own = tuple(chat for chat in chats if not _is_shared(chat, person_id, session))
    unit.erased.append(Erased(int(person_id), tuple(chats), frozenset(pictures), own, asked_at))


def _is_shared(chat: tuple[str, str], person_id: PersonId, session: Session) -> bool:
    """Whether somebody else who is still here uses a chat."""
    channel, address = chat
    others = session.exec(
        select(PersonRow.id)
        .join(AddressRow, col(AddressRow.person_id) == PersonRow.id)
        .where(
            AddressRow.channel == channel,
            AddressRow.address == address,
            col(PersonRow.id) != person_id,
            col(PersonRow.left_at).is_(None),
        )
    )
    return others.first() is not None


def _erase_record(person_id: PersonId, applying: Applying, *, waits: bool) -> None:
    session, encryption = applying.unit.session, applying.unit.encryption
    if not waits:
        session.get_one(PersonRow, person_id).name_sealed = ""
    coach = session.get(CoachRow, person_id)
    if coach is not None:
        coach.desk_sealed = ""
    client = session.get(ClientRow, person_id)
    if client is None:
        return
    given = json.loads(encryption.opened(client.profile_sealed) or "{}") if waits else {}
    kept = {key: value for key, value in given.items() if key in HELP_NEEDS}
    client.profile_sealed = encryption.encrypt_json(kept) if waits else ""
    client.erase_asked_at = client.erase_asked_at or applying.now
    for name in ("checkin_at", "training_days", "quiet_from", "quiet_until", "week_word_day"):
        setattr(client, name, ClientRow.model_fields[name].default)
    client.away_from = client.away_until = client.health_asked_on = client.week_word_due_at = None


def _erase_invitations(person_id: PersonId, applying: Applying) -> None:
    """Invitations of this person; those that nobody used and that bear the name among them.

    One that is good still, made after this person came, is a namesake's.
    """
    session, encryption = applying.unit.session, applying.unit.encryption
    person = session.get_one(PersonRow, person_id)
    name = encryption.opened(person.name_sealed)
    unused = [
        row.id
        for row in _rows(
            session,
            select(InvitationRow).where(
                col(InvitationRow.used_at).is_(None), InvitationRow.role == person.role
            ),
        )
        if row.expires_at <= applying.now or row.made_at < person.created_at
        if _same_name(encryption.opened(row.name_sealed), name)
    ]
    session.execute(
        delete(InvitationRow).where(
            or_(
                col(InvitationRow.used_by_id) == person_id,
                InvitationRow.rebinds_id == person_id,
                col(InvitationRow.id).in_(unused),
            )
        )
    )


def _same_name(one: str, other: str) -> bool:
    return bool(one.strip()) and one.split() == other.split()


def _erase_alerts(person_id: PersonId, applying: Applying, *, waits: bool) -> None:
    """The fact of each alert stays: its level, when, and by whom it was seen."""
    session = applying.unit.session
    for alert in _rows(session, select(AlertRow).where(AlertRow.client_id == person_id)):
        if alert.closed_at is not None or not waits:
            alert.words_sealed = alert.told_sealed = ""
    for hold in _rows(session, select(HoldRow).where(HoldRow.client_id == person_id)):
        if hold.lifted_at is not None or not waits:
            session.delete(hold)


def _erase_messages(
    person_id: PersonId,
    chats: Sequence[tuple[str, str]],
    applying: Applying,
    *,
    waits: bool,
    drops: bool,
) -> Iterator[str]:
    """What was said to this person, and to others about them; gives the pictures that went along.

    An open alert stands in the coach's chat until it is closed.
    """
    session, encryption = applying.unit.session, applying.unit.encryption
    pictures: list[str] = []
    whole = or_(
        col(OutboxRow.person_id) == person_id,
        and_(col(OutboxRow.person_id).is_(None), _in_chats(OutboxRow, chats)),
    )
    alone = or_(whole, OutboxRow.about == names([person_id]))
    rows = session.exec(
        select(OutboxRow, whole, alone).where(
            OutboxRow.payload_sealed != "", or_(whole, _tells_of(OutboxRow, person_id))
        ),
        execution_options=AS_THEY_STAND,
    ).all()
    for row, is_to_them, is_of_them_alone in rows:
        if waits and (row.status == "waiting" or (not is_to_them and row.kind >= Kind.ALERT)):
            continue
        if row.status == "waiting" and not (drops and is_of_them_alone):
            # What is said to them now has none of their words; a page that shows the store is
            # itself the coach's phone.
            row.forgets = not is_to_them and row.channel != SHOWS_THE_STORE
            continue
        if row.status == "waiting":
            row.status = "replaced"
        said = json.loads(encryption.opened(row.payload_sealed) or "{}")
        pictures.append(said.get("picture") or "")
        row.payload_sealed = ""
    return filter(None, pictures)


def _erase_arrivals(
    person_id: PersonId, chats: Sequence[tuple[str, str]], applying: Applying
) -> None:
    """What this person typed and tapped, and what others did about them."""
    for row in _rows(
        applying.unit.session,
        select(InboxRow).where(
            InboxRow.status != "waiting",
            or_(InboxRow.text_sealed != "", InboxRow.tap_sealed != ""),
            or_(
                col(InboxRow.person_id) == person_id,
                and_(col(InboxRow.person_id).is_(None), _in_chats(InboxRow, chats)),
                _tells_of(InboxRow, person_id),
            ),
        ),
    ):
        row.text_sealed = row.tap_sealed = ""
    _erase_where_named(person_id, applying)


def _erase_where_named(person_id: PersonId, applying: Applying) -> None:
    """What coaches typed elsewhere that holds the name: a search, a note come too late.

    Beside somebody else's record only a name of several words goes: a first name may be theirs.
    """
    session, encryption = applying.unit.session, applying.unit.encryption
    name = _plain(encryption.opened(session.get_one(PersonRow, person_id).name_sealed))
    if not name:
        return
    coaches = select(PersonRow.id).where(PersonRow.role == Role.COACH)
    for row in _rows(
        session,
        select(InboxRow).where(
            InboxRow.status != "waiting",
            InboxRow.text_sealed != "",
            or_(" " in name, InboxRow.about == ""),
            col(InboxRow.person_id).in_(coaches),
        ),
    ):
        if name not in _plain(encryption.opened(row.text_sealed)):
            continue
        others = ids_in(row.about or "")
        if not others or (" " in name and name not in _names_of(others, applying)):
            row.text_sealed = ""


def _names_of(person_ids: Iterable[PersonId], applying: Applying) -> set[str]:
    session, encryption = applying.unit.session, applying.unit.encryption
    rows = [session.get(PersonRow, one) for one in person_ids]
    return {_plain(encryption.opened(row.name_sealed)) for row in rows if row is not None}


def _plain(text: str) -> str:
    return " ".join(text.casefold().split())


def _erase_conversations(person_id: PersonId, applying: Applying, *, waits: bool) -> None:
    """What was answered, and where coaches stand with this client; a question of safety goes on."""
    session = applying.unit.session
    for row in _rows(
        session, select(ConversationRow).where(ConversationRow.person_id == person_id)
    ):
        if waits and row.flow == SAFETY_FLOW and row.closed_at is None:
            continue
        row.flow = ""
        _empty(row, applying)
    coaches = select(PersonRow.id).where(PersonRow.role == Role.COACH)
    for row in _rows(
        session,
        select(ConversationRow).where(
            col(ConversationRow.person_id).in_(coaches), ConversationRow.answers_sealed != ""
        ),
    ):
        # What cannot be opened may be of this client.
        words = applying.unit.encryption.opened(row.answers_sealed)
        of_them = not words or str(json.loads(words).get("client", "")) == str(person_id)
        if row.closed_at is not None or of_them:
            _empty(row, applying)


def _rows(session: Session, query: SelectOfScalar[Row]) -> Sequence[Row]:
    """Rows as they stand in the database: prepared statements change what a session remembers."""
    return session.exec(query, execution_options=AS_THEY_STAND).all()


def _empty(row: ConversationRow, applying: Applying) -> None:
    row.answers_sealed = row.standing_sealed = ""
    row.closed_at = row.closed_at or applying.now
    row.due_at = None


def _in_chats(
    table: type[OutboxRow] | type[InboxRow], chats: Sequence[tuple[str, str]]
) -> ColumnElement[bool]:
    return or_(
        *(
            and_(col(table.channel) == channel, col(table.address) == address)
            for channel, address in chats
        ),
        False,
    )


def _tells_of(table: type[OutboxRow] | type[InboxRow], person_id: PersonId) -> ColumnElement[bool]:
    """Rows of others that tell of this person; of older ones nobody knows, so all coaches' go."""
    clients = select(PersonRow.id).where(PersonRow.role == Role.CLIENT)
    return or_(
        col(table.about).contains(names([person_id])),
        and_(
            col(table.about).is_(None),
            or_(col(table.person_id).is_(None), col(table.person_id).not_in(clients)),
        ),
    )
