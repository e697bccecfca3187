"""Open conversations: where each person stands in each flow."""

import json
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime

from sqlalchemy import bindparam
from sqlmodel import col, select

from bot.flows.machine import State
from bot.storage.people import Address
from bot.storage.tables import ConversationRow
from bot.storage.unit import UnitOfWork, stored_id
from core.vocabulary import PersonId

# Asked with each arrival, so put into SQL once.
_OPEN_OF_FLOW = select(ConversationRow).where(
    ConversationRow.person_id == bindparam("person_id"),
    ConversationRow.flow == bindparam("flow"),
    col(ConversationRow.closed_at).is_(None),
)
_OPEN_OF = (
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


@dataclass(slots=True)
class Conversation:
    """One conversation as stored.

    Attributes:
        slots: message slot -> id of the outbox row that shows it now.
        at: the chat it goes on in.
    """

    id: int
    person_id: PersonId
    state: State
    at: Address
    touched_at: datetime
    quiet: bool = False
    slots: dict[str, int] = field(default_factory=dict)
    closed: bool = False


def open_conversation(
    unit: UnitOfWork, person_id: PersonId, flow: str, at: Address, now: datetime
) -> Conversation:
    """A new conversation at step ``begin``; an open one of the same flow ends."""
    for old in unit.session.exec(_OPEN_OF_FLOW, params={"person_id": person_id, "flow": flow}):
        old.closed_at, old.due_at = now, None
    row = ConversationRow(
        person_id=person_id,
        flow=flow,
        step="begin",
        answers_sealed=unit.vault.seal_json({}),
        channel=at.channel,
        address=at.address,
        opened_at=now,
        touched_at=now,
    )
    unit.session.add(row)
    unit.session.flush()
    return _conversation(unit, row)


def get_conversation(unit: UnitOfWork, conversation_id: int) -> Conversation | None:
    """One conversation, open or ended."""
    row = unit.find(ConversationRow, conversation_id)
    return None if row is None else _conversation(unit, row)


def open_of(unit: UnitOfWork, person_id: PersonId) -> Sequence[Conversation]:
    """The open conversations of a person, the one on top first; quiet ones last."""
    rows = unit.session.exec(_OPEN_OF, params={"person_id": person_id}).all()
    return [_conversation(unit, row) for row in rows]


def save_conversation(
    unit: UnitOfWork, conversation: Conversation, now: datetime, due_at: datetime | None
) -> None:
    """Write down where it stands; an ended one keeps nothing of what was answered."""
    row = unit.get(ConversationRow, conversation.id)
    row.step = conversation.state.step
    row.answers_sealed = unit.vault.seal_json(
        {} if conversation.closed else dict(conversation.state.answers)
    )
    row.slots = json.dumps(conversation.slots)
    row.channel, row.address = conversation.at.channel, conversation.at.address
    row.quiet = conversation.quiet
    row.version += 1
    row.touched_at = now
    row.due_at = None if conversation.closed else due_at
    row.closed_at = now if conversation.closed else None


def close_flow(unit: UnitOfWork, person_id: PersonId, flows: Sequence[str], now: datetime) -> None:
    """End the open conversations of these flows."""
    for row in unit.session.exec(
        select(ConversationRow).where(
            ConversationRow.person_id == person_id,
            col(ConversationRow.flow).in_(flows),
            col(ConversationRow.closed_at).is_(None),
        )
    ):
        row.closed_at, row.due_at = now, None


def due_conversations(unit: UnitOfWork, now: datetime, most: int) -> Sequence[Conversation]:
    """Open conversations whose waking moment has come, the longest due first."""
    rows = unit.session.exec(
        select(ConversationRow)
        .where(col(ConversationRow.closed_at).is_(None), col(ConversationRow.due_at) <= now)
        .order_by(col(ConversationRow.due_at))
        .limit(most)
        .with_for_update(skip_locked=True)
    ).all()
    return [_conversation(unit, row) for row in rows]


def _conversation(unit: UnitOfWork, row: ConversationRow) -> Conversation:
    return Conversation(
        id=stored_id(row),
        person_id=PersonId(row.person_id),
        state=State(row.flow, row.step, unit.vault.open_json(row.answers_sealed)),
        at=Address(row.channel, row.address),
        touched_at=row.touched_at,
        quiet=row.quiet,
        slots=json.loads(row.slots),
        closed=row.closed_at is not None,
    )
