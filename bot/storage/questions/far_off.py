"""Moments that no sweep of ours sets so far ahead: a clock that was wrong has set them."""

from collections.abc import Sequence
from datetime import datetime, timedelta
from itertools import chain

from sqlmodel import col, select

from bot.storage.tables import AlertRow, ClientRow, CoachRow, SessionRow
from bot.storage.unit import UnitOfWork
from core.vocabulary import PersonId

DAILY = timedelta(hours=50)
"""What comes every day is due within it, also where a day never was (core/slots.py)."""

CHASED = timedelta(hours=2)
CLIENT_TOLD = timedelta(hours=7)
"""The longest pauses of an alert, with some to spare (bot/alerts/policy.py)."""

SILENCE = timedelta(hours=1)
"""A running session is looked at after ten minutes of silence."""


def waiting_too_long(unit: UnitOfWork, now: datetime) -> Sequence[PersonId]:
    """Clients and coaches whose daily message is not due within days; reminders as far off go."""
    session, latest = unit.session, now + DAILY
    for client in session.exec(select(ClientRow).where(col(ClientRow.reminder_due_at) > latest)):
        client.reminder_due_at = None
    clients = select(ClientRow.person_id).where(col(ClientRow.checkin_due_at) > latest)
    coaches = select(CoachRow.person_id).where(col(CoachRow.digest_due_at) > latest)
    return [PersonId(one) for one in chain(session.exec(clients), session.exec(coaches))]


def hurry_far_off(unit: UnitOfWork, now: datetime, *, all_open: bool) -> int:
    """Open alerts and silent sessions are looked at now where that is set too far ahead.

    Args:
        all_open: however near it is set: the clock was put back a moment ago.

    Returns:
        How many there were.
    """
    session, count = unit.session, 0
    for alert in session.exec(select(AlertRow).where(col(AlertRow.closed_at).is_(None))):
        for name, longest in (("chase_due_at", CHASED), ("client_due_at", CLIENT_TOLD)):
            due = getattr(alert, name)
            if due is not None and due > now + (timedelta(0) if all_open else longest):
                setattr(alert, name, now)
                count += 1
    silent = select(SessionRow).where(col(SessionRow.silence_due_at) > now + SILENCE)
    for one in session.exec(silent):
        one.silence_due_at = now
        count += 1
    return count
