"""What was told of abuse, and what was said around it: it stands in no copy, table or page.

Whoever does it may hold the phone, or read the file, on which these are opened. The coach gives
what is left out by word of mouth.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from sqlmodel import select

from bot.storage.tables import AlertRow
from bot.storage.told import alert_told
from bot.storage.unit import UnitOfWork
from core.vocabulary import AlertLevel, PersonId, Sign

PRIVATE_BEFORE, PRIVATE_AFTER = timedelta(hours=1), timedelta(hours=24)
"""So long around a word of abuse everything said counts as told of it (ours)."""

LONG = 12
"""Characters from which on words inside of others are no chance: "yes" is (ours)."""


@dataclass(frozen=True, slots=True)
class Private:
    """What is left out.

    Attributes:
        spans: from a little before such an alert until a while after its newest sign.
        alerts: their ids.
        words: the client's own words on them.
    """

    spans: Sequence[tuple[datetime, datetime]]
    alerts: frozenset[int]
    words: frozenset[str]

    def at(self, moment: datetime) -> bool:
        """Whether something of this moment may be about it."""
        return any(first <= moment <= last for first, last in self.spans)

    def since(self, moment: datetime) -> bool:
        """Whether it had been told by then: a note may come back to it at any time."""
        return any(first <= moment for first, _ in self.spans)

    def tells(self, text: str) -> bool:
        """Whether a text is, or holds, words that were told."""
        return any(
            word == text.strip() or (len(word) >= LONG and word in text) for word in self.words
        )


def private_of(unit: UnitOfWork, person_id: PersonId) -> Private:
    """What a client has told of abuse, ever."""
    rows = unit.session.exec(select(AlertRow).where(AlertRow.client_id == person_id)).all()
    abuse = [row for row in rows if Sign.ABUSE in alert_told(unit.encryption, row).signs]
    spans = []
    for row in abuse:
        last = max(filter(None, (row.raised_at, row.newest_sign_at, row.closed_at)))
        still_open = row.level != AlertLevel.MENTION and row.closed_at is None
        until = datetime.max.replace(tzinfo=UTC) if still_open else last + PRIVATE_AFTER
        spans.append((row.raised_at - PRIVATE_BEFORE, until))
    words = {
        word.strip()
        for row in abuse
        if row.words_sealed
        for word in unit.encryption.decrypt_json(row.words_sealed) or []
        if isinstance(word, str) and word.strip()
    }
    return Private(spans, frozenset(row.id for row in abuse if row.id), frozenset(words))
