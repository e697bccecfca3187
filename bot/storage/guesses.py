"""Wrong invitation codes: counted for each chat and in all, so that nobody can try many.

A code has about 5 * 10^11 forms (bot/invitation_codes.py). With these limits (ours) a thousand
chats need some 10,000 years for an even chance at one open code: 3,000 tries an hour.
"""

import logging
from datetime import datetime, timedelta

from sqlalchemy import delete
from sqlmodel import col, func, select

from bot.storage.people import Address
from bot.storage.tables import GuessRow
from bot.storage.unit import UnitOfWork

WITHIN = timedelta(hours=1)
PER_CHAT = 5
"""Wrong codes from one chat within the time; after that none of its codes is looked at."""

IN_ALL = 100
"""Wrong codes from all chats within the time; after that each chat has fewer tries."""

WHILE_OTHERS_GUESS = 3
"""Tries of each chat then: whoever is invited may mistype, and others cannot shut her out."""

KEPT = timedelta(days=7)
"""How long a wrong code is counted for the operator."""

log = logging.getLogger(__name__)


def may_try(unit: UnitOfWork, at: Address, now: datetime) -> bool:
    """Whether a code from this chat is looked at now."""
    mine = _count(unit, now, at)
    return mine < WHILE_OTHERS_GUESS or (mine < PER_CHAT and _count(unit, now) < IN_ALL)


def note_wrong(unit: UnitOfWork, at: Address, now: datetime) -> None:
    """A code from this chat was wrong; the caller commits. The operator's log says when too many
    were."""
    unit.session.execute(delete(GuessRow).where(col(GuessRow.at) < now - KEPT))
    unit.session.add(GuessRow(channel=at.channel, address=at.address, at=now))
    unit.session.flush()
    if _count(unit, now, at) == PER_CHAT:
        log.warning("%d wrong invitation codes from one chat: it has to wait", PER_CHAT)
    if _count(unit, now) == IN_ALL:
        log.error("%d wrong invitation codes within an hour: somebody guesses", IN_ALL)


def count_wrong(unit: UnitOfWork) -> int:
    """Wrong codes of the last days."""
    return unit.session.exec(select(func.count()).select_from(GuessRow)).one()


def _count(unit: UnitOfWork, now: datetime, at: Address | None = None) -> int:
    query = select(func.count()).select_from(GuessRow).where(col(GuessRow.at) > now - WITHIN)
    if at is not None:
        query = query.where(GuessRow.channel == at.channel, GuessRow.address == at.address)
    return unit.session.exec(query).one()
