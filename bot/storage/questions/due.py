"""What falls due for people: claimed by the sweeps, set anew by what happens.

Each claim is one statement that skips rows another program holds. Setting a moment is no commit.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, time
from typing import Any

from sqlalchemy import bindparam, func
from sqlalchemy.orm import Mapped
from sqlmodel import col, select

from bot.storage.prepared import Prepared, find, get
from bot.storage.tables import (
    AlertRow,
    ClientRow,
    CoachRow,
    ConversationRow,
    PersonRow,
    RoundRow,
    SessionRow,
)
from bot.storage.unit import UnitOfWork, stored_id
from core.vocabulary import PersonId, SessionId

# Asked every few seconds, and before every sweep, so put into SQL once.
NEXT_DUE: Prepared[Any] = Prepared(
    select(
        *(
            select(func.min(column)).scalar_subquery().label(f"moment_{number}")
            for number, column in enumerate(
                (
                    ClientRow.checkin_due_at,
                    ClientRow.reminder_due_at,
                    ClientRow.week_word_due_at,
                    CoachRow.digest_due_at,
                    AlertRow.chase_due_at,
                    AlertRow.client_due_at,
                    SessionRow.silence_due_at,
                    ConversationRow.due_at,
                )
            )
        )
    )
)
"""The earliest moment of each column that a sweep works from."""


def _claim_of(person_id: Mapped[int], due_at: Mapped[datetime | None]) -> Prepared[Any]:
    return Prepared(
        select(person_id, due_at.label("due_at"))
        .where(due_at <= bindparam("now"))
        .order_by(due_at)
        .limit(bindparam("most"))
        .with_for_update(skip_locked=True)
    )


# Every pass over what is due asks all of them, mostly in vain.
_CHECKINS = _claim_of(col(ClientRow.person_id), col(ClientRow.checkin_due_at))
_REMINDERS = _claim_of(col(ClientRow.person_id), col(ClientRow.reminder_due_at))
_WEEK_WORDS = _claim_of(col(ClientRow.person_id), col(ClientRow.week_word_due_at))
_DIGESTS = _claim_of(col(CoachRow.person_id), col(CoachRow.digest_due_at))
_SILENT_SESSIONS: Prepared[SessionRow] = Prepared(
    select(SessionRow)
    .where(SessionRow.status == "running", col(SessionRow.silence_due_at) <= bindparam("now"))
    .limit(bindparam("most"))
    .with_for_update(skip_locked=True)
)


@dataclass(frozen=True, slots=True)
class DuePerson:
    """Somebody whose moment has come."""

    person_id: PersonId
    due_at: datetime


@dataclass(frozen=True, slots=True)
class SilentSession:
    """A running session in which nothing was heard for too long.

    Attributes:
        started_at: when the client began it.
        stage: 0 nobody was asked yet, 1 the client was asked.
    """

    id: SessionId
    client_id: PersonId
    started_at: datetime | None
    stage: int


@dataclass(frozen=True, slots=True)
class DailyTimes:
    """When a person wants what comes every day, in their own zone.

    Attributes:
        zone: an IANA name.
        checkin_at: None for somebody who is no client.
        prompted: whether the client is cleared and has not left.
        digest_at: None for somebody who is no coach.
        week_word_day: ISO weekday; 0 for no word of the week.
    """

    zone: str
    checkin_at: time | None
    prompted: bool
    digest_at: time | None
    week_word_day: int


def daily_times(unit: UnitOfWork, person_id: PersonId) -> DailyTimes:
    """What a person's due moments follow from."""
    person = get(unit, PersonRow, person_id)
    client = find(unit, ClientRow, person_id)
    coach = find(unit, CoachRow, person_id)
    return DailyTimes(
        zone=person.zone,
        checkin_at=None if client is None else time.fromisoformat(client.checkin_at),
        prompted=client is not None and client.cleared_at is not None and person.left_at is None,
        digest_at=None if coach is None else time.fromisoformat(coach.digest_at),
        week_word_day=0 if client is None else client.week_word_day,
    )


def claim_checkins(unit: UnitOfWork, now: datetime, most: int) -> Sequence[DuePerson]:
    """Clients whose check-in is due, the longest due first."""
    return _claim(unit, _CHECKINS, now, most)


def claim_reminders(unit: UnitOfWork, now: datetime, most: int) -> Sequence[DuePerson]:
    """Clients whose reminder is due, the longest due first."""
    return _claim(unit, _REMINDERS, now, most)


def claim_week_words(unit: UnitOfWork, now: datetime, most: int) -> Sequence[DuePerson]:
    """Clients whose word of the week is due, the longest due first."""
    return _claim(unit, _WEEK_WORDS, now, most)


def claim_digests(unit: UnitOfWork, now: datetime, most: int) -> Sequence[DuePerson]:
    """Coaches whose morning list is due, the longest due first."""
    return _claim(unit, _DIGESTS, now, most)


def _claim(
    unit: UnitOfWork, claimed: Prepared[Any], now: datetime, most: int
) -> Sequence[DuePerson]:
    rows = claimed.all(unit, now=now, most=most)
    return [DuePerson(PersonId(row.person_id), row.due_at or now) for row in rows]


def claim_silent_sessions(unit: UnitOfWork, now: datetime, most: int) -> Sequence[SilentSession]:
    """Running sessions that have been silent for too long."""
    rows = _SILENT_SESSIONS.all(unit, now=now, most=most)
    return [
        SilentSession(
            SessionId(stored_id(row)), PersonId(row.client_id), row.started_at, row.silence_stage
        )
        for row in rows
    ]


def set_checkin_due(unit: UnitOfWork, client_id: PersonId, at: datetime | None) -> None:
    """The next check-in prompt of a client; None: no prompt."""
    unit.session.get_one(ClientRow, client_id).checkin_due_at = at


def set_reminder_due(unit: UnitOfWork, client_id: PersonId, at: datetime | None) -> None:
    """When a client is reminded of a check-in; None: not at all."""
    unit.session.get_one(ClientRow, client_id).reminder_due_at = at


def set_week_word_due(unit: UnitOfWork, client_id: PersonId, at: datetime | None) -> None:
    """The next word of the week of a client; None: none."""
    unit.session.get_one(ClientRow, client_id).week_word_due_at = at


def set_digest_due(unit: UnitOfWork, coach_id: PersonId, at: datetime) -> None:
    """The next morning list of a coach."""
    unit.session.get_one(CoachRow, coach_id).digest_due_at = at


def set_silence_due(
    unit: UnitOfWork, session_id: SessionId, at: datetime | None, stage: int
) -> None:
    """How far it has gone with a silent session, and when it is next looked at."""
    row = unit.session.get_one(SessionRow, session_id)
    row.silence_stage, row.silence_due_at = stage, at


def end_forgotten(unit: UnitOfWork, session_id: SessionId, now: datetime) -> None:
    """End a session in which nobody can still be; nothing is asked about its silence any more."""
    row = unit.session.get_one(SessionRow, session_id)
    row.status, row.ended_at, row.silence_due_at = "stopped", now, None


def next_due(unit: UnitOfWork) -> datetime | None:
    """The earliest moment at which anything falls due, but for retries of sending."""
    moments = NEXT_DUE.one(unit)
    return min((moment for moment in moments if moment is not None), default=None)


def handled_until(unit: UnitOfWork, name: str) -> datetime | None:
    """Up to when the work of this name has been done; None: never."""
    row = unit.session.get(RoundRow, name)
    return None if row is None else row.handled_until


def set_handled_until(unit: UnitOfWork, name: str, moment: datetime) -> None:
    """Keep up to when the work of this name has been done."""
    row = unit.session.get(RoundRow, name) or RoundRow(name=name, handled_until=moment)
    row.handled_until = moment
    unit.session.add(row)
