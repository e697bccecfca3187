"""Messages in final words: enqueued with their cause, claimed by the sender, marked as sent.

Highest kind first; within a chat and kind in order. Nothing of the future stands here: a
``due_at`` ahead means a retry.

Claiming a row writes nothing. One sender serves a channel, and keeps its sends in progress in
memory: a crash leaves the row waiting, so that it is sent again. That is the same guarantee as a
written claim (at least once) for one flush to the disk less a message.
"""

import json
import re
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import (
    BindParameter,
    ColumnElement,
    Executable,
    Integer,
    Select,
    bindparam,
    case,
    select,
    true,
    update,
)
from sqlalchemy.orm import aliased
from sqlalchemy.types import TypeEngine
from sqlmodel import and_, col, exists, or_

from bot.json_values import from_json, to_json
from bot.messages import Kind, Outgoing, ReplyButton
from bot.storage.columns import ChatAddress
from bot.storage.erasing.about import ids_in, names
from bot.storage.people import Address
from bot.storage.prepared import Prepared, insert_new
from bot.storage.tables import OutboxRow
from bot.storage.unit import UnitOfWork, stored_id
from core.vocabulary import AlertId, PersonId

MESSAGES_IN_SIGHT = 12
"""So many of the newest messages of a chat are taken to be in sight (ours)."""

# What a key says of whose turn or alert a message is.
_SPOKEN_BY = re.compile(r":(\d+)>\d+:[^:]*:[^:]*$")
_OF_ALERT = re.compile(r"alert:(\d+):")
_OF_LIST = re.compile(r"digest:\d+:(\d+)")


def _list(name: str, kind: TypeEngine[Any]) -> BindParameter[Any]:
    return bindparam(name, expanding=True, type_=kind)


def _with_edited(edited: type[OutboxRow]) -> Select[*tuple[Any, ...]]:
    """What :func:`_due` reads, with the row ``edited`` whose message is changed, if any."""
    return select(
        col(OutboxRow.id),
        col(OutboxRow.channel),
        col(OutboxRow.address),
        col(OutboxRow.person_id),
        col(OutboxRow.kind),
        col(OutboxRow.payload_sealed),
        col(OutboxRow.edits_id),
        col(edited.platform_id).label("edited_as"),
        col(OutboxRow.attempts),
        col(OutboxRow.created_at),
    ).outerjoin(edited, col(edited.id) == col(OutboxRow.edits_id))


def _next(*, held: bool) -> Executable:
    """The query of :func:`claim`; ``held``: leaving out sends in progress and resting chats."""
    older, edited = aliased(OutboxRow), aliased(OutboxRow)
    ordinary = col(OutboxRow.kind) < Kind.ALERT
    blocked = exists().where(
        col(older.channel) == col(OutboxRow.channel),
        col(older.address) == col(OutboxRow.address),
        col(older.kind) == col(OutboxRow.kind),
        col(older.status) == "waiting",
        col(older.id) < col(OutboxRow.id),
        # Safety replies and alerts are not held behind an older row that waits for a retry, or
        # that hangs.
        or_(
            ordinary,
            and_(
                col(older.due_at) <= bindparam("now"),
                col(older.id).not_in(_list("slow", Integer())) if held else true(),
            ),
        ),
    )
    free = (
        col(OutboxRow.id).not_in(_list("in_hand", Integer())),
        or_(~ordinary, col(OutboxRow.address).not_in(_list("resting", ChatAddress()))),
        col(OutboxRow.address).not_in(_list("limited", ChatAddress())),
    )
    return (
        _with_edited(edited)
        .where(
            col(OutboxRow.channel) == bindparam("channel"),
            col(OutboxRow.status) == "waiting",
            col(OutboxRow.due_at) <= bindparam("now"),
            col(OutboxRow.kind) >= bindparam("least"),
            *(free if held else ()),
            ~blocked,
            # An edit waits for the message that it changes.
            or_(col(edited.id).is_(None), col(edited.status) != "waiting"),
        )
        .order_by(col(OutboxRow.kind).desc(), col(OutboxRow.id))
        .limit(bindparam("most"))
    )


# Executed for each message, so compiled to SQL once.
_NEXT = _next(held=True)
_NEXT_OF_ALL: Prepared[Any] = Prepared(_next(held=False))
_ALL_WAITING: Prepared[Any] = Prepared(
    _with_edited(aliased(OutboxRow))
    .where(col(OutboxRow.channel) == bindparam("channel"), col(OutboxRow.status) == "waiting")
    .order_by(col(OutboxRow.id))
)
_TABLE = OutboxRow.metadata.tables["outbox"]
_KNOWN: Prepared[OutboxRow] = Prepared(
    select(_TABLE.c.id).where(_TABLE.c.dedupe_key == bindparam("dedupe_key"))
)
_PLATFORM_ID: Prepared[OutboxRow] = Prepared(
    select(_TABLE.c.platform_id).where(_TABLE.c.id == bindparam("row_id"))
)
# What is left of the words of a message that is over.
_KEPT = case((_TABLE.c.forgets, ""), else_=_TABLE.c.payload_sealed)
_SENT: Prepared[OutboxRow] = Prepared(
    update(_TABLE)
    .where(_TABLE.c.id == bindparam("row_id"))
    .values(
        status="sent",
        sent_at=bindparam("now"),
        platform_id=bindparam("shown_as"),
        last_error="",
        payload_sealed=_KEPT,
    )
    .returning(_TABLE.c.forgets)
)
_SHOWN_AS: Prepared[OutboxRow] = Prepared(
    update(_TABLE)
    .where(_TABLE.c.id == bindparam("row_id"))
    .values(platform_id=bindparam("shown_as"))
)
_REPLACED: Prepared[OutboxRow] = Prepared(
    update(_TABLE)
    .where(
        _TABLE.c.edits_id == bindparam("edited"),
        _TABLE.c.status == "waiting",
        _TABLE.c.id != bindparam("by"),
    )
    .values(status="replaced", payload_sealed=_KEPT)
)
_NEW = insert_new(
    _TABLE,
    (
        "dedupe_key",
        "person_id",
        "about",
        "channel",
        "address",
        "kind",
        "payload_sealed",
        "edits_id",
        "created_at",
        "due_at",
        "status",
        "forgets",
        "attempts",
        "platform_id",
        "last_error",
    ),
    unique=("dedupe_key",),
)


@dataclass(frozen=True, slots=True)
class Due:
    """A message that may go now.

    Attributes:
        outgoing: what is said; ``None`` where the row is damaged and nobody can read it any more.
        edits_id: the row whose message this one changes.
        edits_platform_id: the platform's id of the message to edit; "" sends a new one.
        attempts: how often it was tried before.
    """

    id: int
    at: Address
    person_id: PersonId | None
    kind: Kind
    outgoing: Outgoing | None
    edits_id: int | None
    edits_platform_id: str
    attempts: int
    created_at: datetime


@dataclass(frozen=True, slots=True)
class Undelivered:
    """A message that will never be shown: its chat turned out closed.

    Attributes:
        by: whose turn or alert it was of, where that is known.
        alert_id: the alert that it told of, or None.
        about, forgets: as :func:`enqueue` takes them.
        list_of: where it is a coach's morning list, when that was due, as a Unix time.
    """

    id: int
    by: PersonId | None
    to: PersonId
    alert_id: AlertId | None
    kind: Kind
    outgoing: Outgoing
    about: Sequence[PersonId]
    forgets: bool
    list_of: int | None = None


def message_key(cause: str, by: PersonId, to: PersonId, channel: str, chat: str) -> str:
    """The key of a message: the same cause never makes two rows.

    It says who spoke, too: where the chat turns out closed, they must hear of it.

    Args:
        cause: of the message itself: each message of a turn has its own.
        by: whose turn, or whose alert, it is of.
        chat: a hash of the chat's address.
    """
    return f"{cause}:{by}>{to}:{channel}:{chat}"


def enqueue(
    unit: UnitOfWork,
    *,
    dedupe_key: str,
    at: Address,
    person_id: PersonId | None,
    kind: Kind,
    outgoing: Outgoing,
    now: datetime,
    edits_id: int | None = None,
    about: Iterable[PersonId] = (),
    forgets: bool = False,
) -> int:
    """Put a message in, once per ``dedupe_key``; gives the row's id.

    ``about``: the clients, other than the person, of whom it may tell. ``forgets``: its words go
    once it is sent. An edit replaces a waiting edit of the same message, which is then never sent.
    """
    row = _NEW.first(
        unit,
        dedupe_key=dedupe_key,
        person_id=person_id,
        about=names(about),
        channel=at.channel,
        address=at.address,
        kind=int(kind),
        payload_sealed=unit.encryption.encrypt_json(to_json(outgoing)),
        edits_id=edits_id,
        created_at=now,
        due_at=now,
        status="waiting",
        forgets=forgets,
        attempts=0,
        platform_id="",
        last_error="",
    )
    if row is None:
        return stored_id(_KNOWN.one(unit, dedupe_key=dedupe_key))
    row_id = int(row.id)
    if edits_id is not None:
        _REPLACED.run(unit, edited=edits_id, by=row_id)
    return row_id


def shown_as(unit: UnitOfWork, row_id: int) -> str:
    """What the platform calls the message of a row; "" when it was not sent."""
    found = _PLATFORM_ID.first(unit, row_id=row_id)
    return "" if found is None else found.platform_id


def claim(
    unit: UnitOfWork,
    now: datetime,
    *,
    channel: str,
    most: int,
    least: Kind = Kind.DIGEST,
    in_hand: Collection[int] = (),
    slow: Collection[int] = (),
    resting: Collection[str] = (),
    limited: Collection[str] = (),
) -> list[Due]:
    """The next messages of a channel, the most urgent first; writes nothing.

    Args:
        most: how many at most.
        least: only messages of this kind or more urgent.
        in_hand: ids of rows that the sender is sending already.
        slow: those of them that have hung so long that safety replies and alerts overtake them.
        resting: chats that may not be written to just now, but for safety replies and alerts.
        limited: chats that the platform itself told to wait: nothing goes there.
    """
    given = {"channel": channel, "now": now, "least": int(least), "most": most}
    if not (in_hand or slow or resting or limited):
        return [_due(unit, row) for row in _NEXT_OF_ALL.all(unit, **given)]
    held = {
        "in_hand": list(in_hand),
        "slow": list(slow),
        "resting": list(resting),
        "limited": list(limited),
    }
    return [_due(unit, row) for row in unit.session.execute(_NEXT, given | held)]


def all_waiting(unit: UnitOfWork, channel: str) -> list[Due]:
    """Everything that waits for a channel, in the order in which it was put in."""
    return [_due(unit, row) for row in _ALL_WAITING.all(unit, channel=channel)]


def next_due(unit: UnitOfWork, channel: str, in_hand: Collection[int] = ()) -> datetime | None:
    """When the earliest waiting message of a channel may go (a past moment: it is held)."""
    query = select(col(OutboxRow.due_at)).where(_waiting(channel))
    if in_hand:
        query = query.where(col(OutboxRow.id).not_in(in_hand))
    return unit.session.scalar(query.order_by(col(OutboxRow.due_at)).limit(1))


def written_at(unit: UnitOfWork, at: Address, platform_id: str) -> datetime | None:
    """When a message in a chat was written; None when no such message is known."""
    row = _newest_as(unit, at, platform_id)
    return None if row is None else row.created_at


def was_shown(unit: UnitOfWork, at: Address, platform_id: str, value: str) -> bool:
    """Whether a message in a chat has ever had a button with this value."""
    sealed = unit.session.scalars(
        select(col(OutboxRow.payload_sealed)).where(
            col(OutboxRow.channel) == at.channel,
            col(OutboxRow.address) == at.address,
            col(OutboxRow.platform_id) == platform_id,
        )
    ).all()
    shown = [from_json(Outgoing, unit.encryption.decrypt_json(one)) for one in sealed if one]
    return any(choice.value == value for one in shown for row in one.choices for choice in row)


def choices_lately(
    unit: UnitOfWork, person_id: PersonId, at: Address, since: datetime
) -> Iterator[ReplyButton]:
    """Buttons under the newest messages to somebody in a chat, newest first."""
    sealed = unit.session.scalars(
        select(col(OutboxRow.payload_sealed))
        .where(
            col(OutboxRow.channel) == at.channel,
            col(OutboxRow.address) == at.address,
            col(OutboxRow.person_id) == person_id,
            col(OutboxRow.created_at) >= since,
            col(OutboxRow.payload_sealed) != "",
        )
        .order_by(col(OutboxRow.id).desc())
        .limit(MESSAGES_IN_SIGHT)
    ).all()
    for one in sealed:
        shown = from_json(Outgoing, unit.encryption.decrypt_json(one))
        yield from (choice for row in shown.choices for choice in row)


def written_to(unit: UnitOfWork, at: Address, platform_id: str) -> PersonId | None:
    """The person a message in a chat was written to; None when no such message is known."""
    row = _newest_as(unit, at, platform_id)
    return None if row is None or row.person_id is None else PersonId(row.person_id)


def _newest_as(unit: UnitOfWork, at: Address, platform_id: str) -> OutboxRow | None:
    """The newest row that stands for a message of the platform's in a chat."""
    if not platform_id:
        return None
    return unit.session.scalar(
        select(OutboxRow)
        .where(
            col(OutboxRow.channel) == at.channel,
            col(OutboxRow.address) == at.address,
            col(OutboxRow.platform_id) == platform_id,
        )
        .order_by(col(OutboxRow.id).desc())
        .limit(1)
    )


def mark_sent(unit: UnitOfWork, due: Due, platform_id: str, now: datetime) -> None:
    """Mark a message as sent.

    Both the edit and the message that it changed now stand for the platform's message.
    """
    sent = _SENT.first(unit, row_id=due.id, now=now, shown_as=platform_id)
    unit.empties_log = unit.empties_log or (sent is not None and sent.forgets)
    if due.edits_id is not None and platform_id != due.edits_platform_id:
        _SHOWN_AS.run(unit, row_id=due.edits_id, shown_as=platform_id)


def mark_retry(unit: UnitOfWork, row_id: int, due_at: datetime, error: str) -> None:
    """Try again at ``due_at``. A row that was replaced meanwhile stays replaced."""
    unit.session.execute(
        update(OutboxRow)
        .where(col(OutboxRow.id) == row_id, col(OutboxRow.status) == "waiting")
        .values(due_at=due_at, last_error=error, attempts=col(OutboxRow.attempts) + 1)
    )


def due_at_once(unit: UnitOfWork, channel: str, now: datetime) -> None:
    """Let nothing that waits for a channel wait for a moment after ``now``; commits."""
    unit.session.execute(
        update(OutboxRow).where(_waiting(channel), col(OutboxRow.due_at) > now).values(due_at=now)
    )
    unit.commit()


def mark_anew(unit: UnitOfWork, due: Due) -> None:
    """The message to edit is gone: the same words go out as a new message in its place."""
    if due.edits_id is not None:
        _SHOWN_AS.run(unit, row_id=due.edits_id, shown_as="")


def mark_refused(unit: UnitOfWork, row_id: int, error: str) -> None:
    """Mark a message as refused for good."""
    unit.session.execute(
        update(OutboxRow)
        .where(col(OutboxRow.id) == row_id)
        .values(status="refused", last_error=error, payload_sealed=_KEPT)
    )


def give_up(unit: UnitOfWork, row_id: int, error: str) -> Sequence[Undelivered]:
    """The same; gives it where it is to a person."""
    found = _refuse(unit, error, col(OutboxRow.id) == row_id, col(OutboxRow.status) == "waiting")
    mark_refused(unit, row_id, error)
    return found


def refuse_chat(unit: UnitOfWork, at: Address, error: str) -> Sequence[Undelivered]:
    """Mark all messages that wait for this chat as refused for good; gives those to persons."""
    return _refuse(unit, error, _chat(at))


def refuse_chat_of(
    unit: UnitOfWork, at: Address, person_id: PersonId, error: str
) -> Sequence[Undelivered]:
    """The same of what waits for one person in this chat; others may share it."""
    return _refuse(unit, error, _chat(at), col(OutboxRow.person_id) == person_id)


def move_chat(unit: UnitOfWork, at: Address, new_address: str) -> None:
    """Send what waits for a chat to its new address."""
    unit.session.execute(update(OutboxRow).where(_chat(at)).values(address=new_address))


def withdraw_milder(unit: UnitOfWork, person_id: PersonId, before: datetime) -> None:
    """Let what still waits of earlier turns of a person not follow a warning to them.

    Withdrawn are answers and questions of their own turns, put in before ``before``, with the edits
    that wait for them; never a safety reply, what somebody else wrote to them, or a file.
    """
    rows = unit.session.scalars(
        select(OutboxRow).where(
            col(OutboxRow.person_id) == person_id,
            col(OutboxRow.status) == "waiting",
            col(OutboxRow.kind).in_((int(Kind.PROMPT), int(Kind.REPLY))),
            col(OutboxRow.created_at) < before,
            col(OutboxRow.edits_id).is_(None),
        )
    )
    milder = [
        stored_id(row)
        for row in rows
        if _spoken_by(row.dedupe_key) == person_id and not _is_file(unit, row)
    ]
    if not milder:
        return
    unit.session.execute(
        update(OutboxRow)
        .where(
            or_(col(OutboxRow.id).in_(milder), col(OutboxRow.edits_id).in_(milder)),
            col(OutboxRow.status) == "waiting",
        )
        .values(status="replaced", payload_sealed=_KEPT)
    )


def _is_file(unit: UnitOfWork, row: OutboxRow) -> bool:
    outgoing = _opened(unit, row.payload_sealed)
    return outgoing is not None and bool(outgoing.document)


def _waiting(channel: str) -> ColumnElement[bool]:
    return and_(col(OutboxRow.channel) == channel, col(OutboxRow.status) == "waiting")


def _chat(at: Address) -> ColumnElement[bool]:
    return and_(_waiting(at.channel), col(OutboxRow.address) == at.address)


def _refuse(unit: UnitOfWork, error: str, *which: ColumnElement[bool]) -> Sequence[Undelivered]:
    """Mark messages as refused for good; gives those to persons."""
    rows = unit.session.scalars(select(OutboxRow).where(*which).order_by(col(OutboxRow.id)))
    found = [_undelivered(unit, row) for row in rows if row.person_id and row.payload_sealed]
    unit.session.execute(
        update(OutboxRow)
        .where(*which)
        .values(status="refused", last_error=error, payload_sealed=_KEPT)
    )
    return found


def _spoken_by(key: str) -> PersonId | None:
    """Who spoke; None where nobody known did, or an older program put it in."""
    found = _SPOKEN_BY.search(key)
    return PersonId(int(found[1])) if found and int(found[1]) else None


def _alert_told(key: str) -> AlertId | None:
    """The alert that coaches, or its client, were told of; None for any other message."""
    found = _OF_ALERT.match(key)
    return AlertId(int(found[1])) if found else None


def _list_due(key: str) -> int | None:
    found = _OF_LIST.match(key)
    return int(found[1]) if found else None


def _opened(unit: UnitOfWork, sealed: str) -> Outgoing | None:
    words = unit.encryption.opened(sealed)
    return from_json(Outgoing, json.loads(words)) if words else None


def _undelivered(unit: UnitOfWork, row: OutboxRow) -> Undelivered:
    return Undelivered(
        id=stored_id(row),
        by=_spoken_by(row.dedupe_key),
        to=PersonId(row.person_id or 0),
        alert_id=_alert_told(row.dedupe_key),
        kind=Kind(row.kind),
        outgoing=_opened(unit, row.payload_sealed) or Outgoing(""),
        about=ids_in(row.about or ""),
        forgets=row.forgets,
        list_of=_list_due(row.dedupe_key),
    )


def _due(unit: UnitOfWork, row: Any) -> Due:
    (id_, channel, address, person_id, kind, sealed, edits_id, edits, attempts, created_at) = row
    return Due(
        id=id_,
        at=Address(channel, address),
        person_id=None if person_id is None else PersonId(person_id),
        kind=Kind(kind),
        outgoing=_opened(unit, sealed),
        edits_id=edits_id,
        edits_platform_id=edits or "",
        attempts=attempts,
        created_at=created_at,
    )
