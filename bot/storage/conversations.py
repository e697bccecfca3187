"""Open conversations: where each person stands in each flow."""

import logging
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import bindparam, insert, update
from sqlmodel import col, select

from bot.errors import Unopened
from bot.flows.machine import State
from bot.storage.people import Address
from bot.storage.prepared import Prepared, find
from bot.storage.tables import ConversationRow
from bot.storage.unit import UnitOfWork, stored_id
from core.vocabulary import PersonId

# Asked with each arrival, so put into SQL once.
_TABLE = ConversationRow.metadata.tables["conversation"]
_END_FLOW: Prepared[ConversationRow] = Prepared(
    update(_TABLE)
    .where(
        _TABLE.c.person_id == bindparam("person"),
        _TABLE.c.flow == bindparam("named"),
        _TABLE.c.closed_at.is_(None),
    )
    .values(closed_at=bindparam("now"), due_at=None, answers_sealed="")
)
_STANDING = (
    "answers_sealed",
    "standing_sealed",
    "channel",
    "address",
    "quiet",
    "touched_at",
    "due_at",
)
_SAVE: Prepared[ConversationRow] = Prepared(
    update(_TABLE)
    .where(_TABLE.c.id == bindparam("row_id"))
    .values(
        **{name: bindparam(f"new_{name}") for name in (*_STANDING, "closed_at")},
        version=_TABLE.c.version + 1,
    )
)
_BEGIN: Prepared[ConversationRow] = Prepared(
    insert(_TABLE)
    .values(
        **{name: bindparam(name) for name in ("person_id", "flow", *_STANDING, "opened_at")},
        version=0,
    )
    .returning(_TABLE)
)
_DUE: Prepared[ConversationRow] = Prepared(
    select(ConversationRow)
    .where(
        col(ConversationRow.closed_at).is_(None), col(ConversationRow.due_at) <= bindparam("now")
    )
    .order_by(col(ConversationRow.due_at))
    .limit(bindparam("most"))
    .with_for_update(skip_locked=True)
)
_OPEN_OF: Prepared[ConversationRow] = Prepared(
    select(ConversationRow)
    .where(
        ConversationRow.person_id == bindparam("person_id"),
        col(ConversationRow.closed_at).is_(None),
    )
    .order_by(
        col(ConversationRow.quiet),
        col(ConversationRow.touched_at).desc(),
        col(ConversationRow.id).desc(),
    )
)
_OPEN_OF_FLOW: Prepared[ConversationRow] = Prepared(
    select(ConversationRow).where(
        ConversationRow.person_id == bindparam("person_id"),
        ConversationRow.flow == bindparam("flow"),
        col(ConversationRow.closed_at).is_(None),
    )
)


log = logging.getLogger(__name__)

LASTING = ("join", "safety", "treatment")
"""Conversations whose question waits for days."""

ASKED_AGAIN_FOR = timedelta(hours=2)
"""Other questions and screens are not put again by themselves after this time."""


@dataclass(slots=True)
class Conversation:
    """One conversation as stored.

    Attributes:
        slots: message slot -> id of the outbox row that shows it now.
        at: the chat it goes on in.
        screen: counts what it has shown; its buttons carry the number.
        taken: the buttons that moved it on lately, oldest first.
    """

    id: int
    person_id: PersonId
    state: State
    at: Address
    touched_at: datetime
    quiet: bool = False
    slots: dict[str, int] = field(default_factory=dict)
    closed: bool = False
    screen: int = 0
    taken: tuple[str, ...] = ()


def still_asks(conversation: Conversation, now: datetime) -> bool:
    """Whether a question may be put again: not a screen that was left hours ago."""
    lasting = conversation.state.flow in LASTING
    return lasting or now - conversation.touched_at <= ASKED_AGAIN_FOR


def open_conversation(
    unit: UnitOfWork, person_id: PersonId, flow: str, at: Address, now: datetime
) -> Conversation:
    """A new conversation at step ``begin``; an open one of the same flow ends."""
    _END_FLOW.run(unit, person=person_id, named=flow, now=now)
    row = _BEGIN.one(
        unit,
        person_id=person_id,
        flow=flow,
        answers_sealed=unit.encryption.encrypt_json({}),
        standing_sealed=unit.encryption.encrypt_json({STEP: "begin"}),
        channel=at.channel,
        address=at.address,
        quiet=False,
        touched_at=now,
        due_at=None,
        opened_at=now,
    )
    return _conversation(unit, row)


def get_conversation(unit: UnitOfWork, conversation_id: int) -> Conversation | None:
    """One conversation, open or ended."""
    row = find(unit, ConversationRow, conversation_id)
    return None if row is None else _conversation(unit, row)


def open_of(unit: UnitOfWork, person_id: PersonId) -> Sequence[Conversation]:
    """The open conversations of a person, the one on top first; quiet ones last."""
    return _readable(unit, _OPEN_OF.all(unit, person_id=person_id))


def open_of_flow(unit: UnitOfWork, person_id: PersonId, flow: str) -> Sequence[Conversation]:
    """The open conversations of a person about one thing."""
    return _readable(unit, _OPEN_OF_FLOW.all(unit, person_id=person_id, flow=flow))


def save_conversation(
    unit: UnitOfWork, conversation: Conversation, now: datetime, due_at: datetime | None
) -> None:
    """Write down where it stands; an ended one keeps nothing of what was answered."""
    answers = {} if conversation.closed else dict(conversation.state.answers)
    _SAVE.run(
        unit,
        row_id=conversation.id,
        new_answers_sealed=unit.encryption.encrypt_json(answers),
        new_standing_sealed=unit.encryption.encrypt_json(_standing(conversation)),
        new_channel=conversation.at.channel,
        new_address=conversation.at.address,
        new_quiet=conversation.quiet,
        new_touched_at=now,
        new_due_at=None if conversation.closed else due_at,
        new_closed_at=now if conversation.closed else None,
    )


def move_open(unit: UnitOfWork, person_id: PersonId, at: Address) -> None:
    """The open conversations of a person go on in this chat."""
    unit.session.execute(
        update(ConversationRow)
        .where(
            col(ConversationRow.person_id) == person_id, col(ConversationRow.closed_at).is_(None)
        )
        .values(channel=at.channel, address=at.address)
    )


def put_off(unit: UnitOfWork, conversation_id: int, due_at: datetime | None) -> None:
    """Wake a conversation at another moment; None: not any more."""
    unit.session.execute(
        update(ConversationRow)
        .where(col(ConversationRow.id) == conversation_id)
        .values(due_at=due_at)
    )


def close_flow(unit: UnitOfWork, person_id: PersonId, flows: Sequence[str], now: datetime) -> None:
    """End the open conversations of these flows."""
    for flow in flows:
        _END_FLOW.run(unit, person=person_id, named=flow, now=now)


def due_conversations(unit: UnitOfWork, now: datetime, most: int) -> Sequence[Conversation]:
    """Open conversations whose waking moment has come, the longest due first.

    One that is damaged is not woken any more, so that the others are.
    """
    rows = _DUE.all(unit, now=now, most=most)
    found = _readable(unit, rows)
    for row_id in {stored_id(row) for row in rows} - {one.id for one in found}:
        put_off(unit, row_id, None)
    return found


STEP, SCREEN, TAKEN = "#step", "#screen", "#taken"
"""Kept beside the slots, which are names of our own without such a mark."""


def _standing(conversation: Conversation) -> dict[str, Any]:
    return {
        **conversation.slots,
        STEP: conversation.state.step,
        SCREEN: conversation.screen,
        TAKEN: list(conversation.taken),
    }


def _readable(unit: UnitOfWork, rows: Iterable[ConversationRow]) -> list[Conversation]:
    """Conversations, but those that are damaged: nobody knows what they ask."""
    found = []
    for row in rows:
        try:
            found.append(_conversation(unit, row))
        except Unopened:
            log.critical("conversation %d (%s) is damaged", row.id, row.flow)
    return found


def _conversation(unit: UnitOfWork, row: ConversationRow) -> Conversation:
    slots = unit.encryption.decrypt_json(row.standing_sealed)
    step = slots.pop(STEP, "")
    screen, taken = slots.pop(SCREEN, 0), slots.pop(TAKEN, [])
    return Conversation(
        id=stored_id(row),
        person_id=PersonId(row.person_id),
        state=State(row.flow, step, unit.encryption.decrypt_json(row.answers_sealed)),
        at=Address(row.channel, row.address),
        touched_at=row.touched_at,
        quiet=row.quiet,
        slots=slots,
        closed=row.closed_at is not None,
        screen=int(screen),
        taken=tuple(map(str, taken)),
    )
