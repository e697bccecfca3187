"""What was said to a person, word for word."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlmodel import col, select

from bot.json_values import from_json
from bot.messages import Outgoing
from bot.storage.tables import OutboxRow
from bot.storage.unit import UnitOfWork
from core.vocabulary import PersonId


@dataclass(frozen=True, slots=True)
class ToldWords:
    """One message to a person.

    Attributes:
        at: when it was written, aware.
        labels: of its buttons.
        status: "sent", "waiting", "refused" (it did not arrive) or "replaced" (never sent, as a
            newer text of the same message took its place).
    """

    at: datetime
    text: str
    labels: tuple[str, ...]
    status: str


def told_words(
    unit: UnitOfWork, person_id: PersonId, since: datetime, until: datetime
) -> Sequence[ToldWords]:
    """The messages to a person in that time, oldest first; erased ones are left out."""
    rows = unit.session.exec(
        select(OutboxRow)
        .where(
            OutboxRow.person_id == person_id,
            OutboxRow.created_at >= since,
            OutboxRow.created_at <= until,
            OutboxRow.status != "replaced",
        )
        .order_by(col(OutboxRow.id))
    ).all()
    found = []
    for row in rows:
        sealed = row.payload_sealed
        kept = unit.encryption.decrypt_json(sealed) if sealed else None
        if not kept or not kept.get("text"):
            continue
        outgoing = from_json(Outgoing, kept)
        labels = tuple(choice.label for line in outgoing.choices for choice in line)
        found.append(ToldWords(row.created_at, outgoing.text, labels, row.status))
    return found
