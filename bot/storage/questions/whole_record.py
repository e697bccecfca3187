"""A copy of everything that is kept about a client, as a JSON file."""

import json
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from typing import Any

from sqlmodel import SQLModel, col, select

from bot.storage.people import get_person
from bot.storage.tables import (
    AddressRow,
    AlertRow,
    CheckinRow,
    ClientRow,
    HoldRow,
    InboxRow,
    NoteRow,
    OutboxRow,
    PainRow,
    SessionRow,
    SetRow,
    WalkRow,
)
from bot.storage.told import alert_told
from bot.storage.unit import UnitOfWork
from core.vocabulary import AlertLevel, PersonId, Sign

SEALED = "_sealed"
PRIVATE_BEFORE, PRIVATE_AFTER = timedelta(hours=1), timedelta(hours=24)
"""What was said around a word of abuse is left out of the copy (ours); the coach gives it."""
BY_CLIENT = (CheckinRow, SessionRow, SetRow, WalkRow, PainRow, AlertRow, HoldRow, NoteRow)
"""Tables whose rows belong to a client by ``client_id``."""

WITH_ITS_SCALE = {
    "score": "readiness_0_to_100_usual_75",
    "certainty": "certainty_0_to_1",
    "effort": "effort_0_to_10",
}
"""Numbers that mean nothing without their scale -> the name they are copied under."""


def export_json(unit: UnitOfWork, person_id: PersonId) -> bytes:
    """All rows about a client with their words in the clear; UTF-8, indented."""
    person = get_person(unit, person_id)
    session = unit.session
    copy: dict[str, Any] = {
        "name": person.name,
        "country": person.country,
        "time_zone": person.zone,
    }
    private = _private(unit, person_id)
    client = session.get(ClientRow, person_id)
    if client is not None:
        copy["client"] = _plain(unit, client)
    for table in BY_CLIENT:
        rows = session.exec(
            select(table).where(table.client_id == person_id).order_by(col(table.id))
        ).all()
        copy[str(table.__tablename__)] = [
            _plain(unit, row) for row in rows if not private.holds(row)
        ]
    chats = session.exec(select(AddressRow).where(AddressRow.person_id == person_id)).all()
    copy["chats"] = [_plain(unit, row) for row in chats]
    said = session.exec(
        select(InboxRow).where(InboxRow.person_id == person_id).order_by(col(InboxRow.id))
    ).all()
    copy["you_said"] = [_plain(unit, row) for row in said if not private.at(row.received_at)]
    shown = session.exec(
        select(OutboxRow).where(OutboxRow.person_id == person_id).order_by(col(OutboxRow.id))
    ).all()
    copy["i_said"] = [
        {
            "at": row.created_at.isoformat(),
            "text": (unit.encryption.decrypt_json(row.payload_sealed) or {}).get("text", ""),
        }
        for row in shown
        if not private.at(row.created_at)
    ]
    return json.dumps(copy, indent=2, ensure_ascii=False, default=_as_text).encode()


@dataclass(frozen=True, slots=True)
class _Private:
    """What was told of abuse. Whoever does it may hold the phone on which the copy is opened.

    Attributes:
        spans: from a little before such an alert until a while after its newest sign.
        alerts: their ids.
    """

    spans: Sequence[tuple[datetime, datetime]]
    alerts: frozenset[int | None]

    def at(self, moment: datetime) -> bool:
        """Whether something of this moment may be about it."""
        return any(first <= moment <= last for first, last in self.spans)

    def holds(self, row: SQLModel) -> bool:
        """Whether a row tells of it: the alert, its pause, and notes since."""
        if isinstance(row, AlertRow):
            return row.id in self.alerts
        if isinstance(row, HoldRow):
            return row.alert_id in self.alerts
        if isinstance(row, NoteRow):
            return bool(self.spans) and row.at >= min(first for first, _ in self.spans)
        return False


def _private(unit: UnitOfWork, person_id: PersonId) -> _Private:
    rows = unit.session.exec(select(AlertRow).where(AlertRow.client_id == person_id)).all()
    abuse = [row for row in rows if Sign.ABUSE in alert_told(unit.encryption, row).signs]
    spans = []
    for row in abuse:
        last = max(filter(None, (row.raised_at, row.newest_sign_at, row.closed_at)))
        still_open = row.level != AlertLevel.MENTION and row.closed_at is None
        until = datetime.max.replace(tzinfo=UTC) if still_open else last + PRIVATE_AFTER
        spans.append((row.raised_at - PRIVATE_BEFORE, until))
    return _Private(spans, frozenset(row.id for row in abuse))


def _plain(unit: UnitOfWork, row: SQLModel) -> dict[str, Any]:
    """A row with its sealed words opened."""
    found: dict[str, Any] = {}
    for name, value in row.model_dump().items():
        plain = name.removesuffix(SEALED)
        told = value if plain == name else _read(unit.encryption.decrypt(value))
        found[WITH_ITS_SCALE.get(plain, plain)] = _scaled(told)
    return found


def _scaled(told: Any) -> Any:
    """Answers and results, their numbers named with their scale."""
    if not isinstance(told, dict):
        return told
    return {WITH_ITS_SCALE.get(name, name): value for name, value in told.items()}


def _read(text: str) -> Any:
    try:
        return json.loads(text)
    except ValueError:
        return text


def _as_text(value: object) -> str:
    return value.isoformat() if isinstance(value, date | datetime) else str(value)
