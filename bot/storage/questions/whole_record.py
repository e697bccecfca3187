"""A copy of everything that is kept about a client, as a JSON file."""

import json
from datetime import date, datetime
from typing import Any

from sqlmodel import SQLModel, col, select

from bot.storage.people import get_person
from bot.storage.questions.private import Private, private_of
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
from bot.storage.unit import UnitOfWork
from core.vocabulary import PersonId

SEALED = "_sealed"
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
    private = private_of(unit, person_id)
    client = session.get(ClientRow, person_id)
    if client is not None:
        copy["client"] = _untold(_plain(unit, client), private)
    for table in BY_CLIENT:
        rows = session.exec(
            select(table).where(table.client_id == person_id).order_by(col(table.id))
        ).all()
        copy[str(table.__tablename__)] = [
            _untold(_plain(unit, row), private) for row in rows if not _is_private(row, private)
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


def _is_private(row: SQLModel, private: Private) -> bool:
    """Whether a row may tell of abuse: an alert of that time, its pause, and notes since."""
    if isinstance(row, AlertRow):
        return row.id in private.alerts or private.at(row.raised_at)
    if isinstance(row, HoldRow):
        return row.alert_id in private.alerts
    return isinstance(row, NoteRow) and private.since(row.at)


def _plain(unit: UnitOfWork, row: SQLModel) -> dict[str, Any]:
    """A row with its sealed words opened."""
    found: dict[str, Any] = {}
    for name, value in row.model_dump().items():
        plain = name.removesuffix(SEALED)
        told = value if plain == name else _read(unit.encryption.decrypt(value))
        found[WITH_ITS_SCALE.get(plain, plain)] = _scaled(told)
    return found


def _untold(found: Any, private: Private) -> Any:
    """The same without answers that hold words about abuse."""
    if isinstance(found, dict):
        return {key: _untold(value, private) for key, value in found.items()}
    if isinstance(found, list):
        return [_untold(one, private) for one in found]
    return "" if isinstance(found, str) and private.tells(found) else found


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
