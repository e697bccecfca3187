"""Until when copies of a record outlive its erasure."""

from datetime import date, datetime, timedelta

from bot.flows.facts import Person

BACKUPS_KEPT = timedelta(days=35)
"""Backups older than this are deleted by the operator (`deploy/OPERATIONS.md` says so, ours)."""


def copies_gone_on(person: Person, now: datetime) -> date:
    """The day, where this person is, on which the last backup with their words is deleted."""
    return person.local(now + BACKUPS_KEPT).date()
