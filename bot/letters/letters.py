"""Which document a content id names, and who may have it.

An id names kind, client, coach and moment ("told-12-1-1772432100"); it is made when a channel
loads it, from the record as it stands, and only for somebody who may still see that client.
"""

from datetime import UTC, datetime

from bot.flows.coach.client.letters import (
    DOCTOR,
    KINDS,
    REVIEW,
    TABLE,
    TOLD,
    days_of,
    may_write_to_doctor,
)
from bot.flows.facts import Reference
from bot.letters.review import for_client, for_doctor
from bot.letters.table import table_of
from bot.letters.told import told_page
from bot.pictures.store import PictureStore
from bot.reference.words import Words
from bot.storage.facts import StoreFacts
from bot.storage.people import get_person, is_person
from bot.storage.unit import UnitOfWork
from core.vocabulary import PersonId

LONGEST_NUMBER = 12
"""Digits, as far as our ids and moments count."""

LAST_MOMENT = datetime(9999, 12, 1, tzinfo=UTC).timestamp()
"""No calendar goes on after that year, whatever the zone."""

BYTE_ORDER_MARK = "\ufeff"
"""Without it a common spreadsheet reads our letters as those of another table."""


class Letters:
    """Makes documents from the record."""

    def __init__(self, words: Words, reference: Reference, pictures: PictureStore) -> None:
        """``words`` say them; ``reference`` is what flows read; ``pictures`` draws."""
        self._words = words
        self._reference = reference
        self._pictures = pictures

    def knows(self, content_id: str) -> bool:
        """Whether an id has the shape of one of these documents."""
        kind, *numbers = content_id.split("-")
        return kind in KINDS and len(numbers) == 3 and all(map(_is_number, numbers))

    def load(self, unit: UnitOfWork, content_id: str) -> tuple[bytes, str]:
        """(bytes, file name).

        Raises:
            KeyError: whoever asked for it is nobody, may not see this client, or may not tell a
                doctor; or there is no such moment.
        """
        kind, *numbers = content_id.split("-")
        client, coach, moment = (int(number) for number in numbers)
        if not is_person(unit, PersonId(coach)) or moment > LAST_MOMENT:
            raise KeyError(content_id)
        me = get_person(unit, PersonId(coach))
        facts = StoreFacts(unit, me, datetime.fromtimestamp(moment, UTC), self._reference)
        if me.left or not facts.is_coach_of(PersonId(client)):
            raise KeyError(content_id)
        return self._made(kind, facts, PersonId(client), content_id)

    def _made(
        self, kind: str, facts: StoreFacts, client_id: PersonId, content_id: str
    ) -> tuple[bytes, str]:
        words = self._words
        if kind == TABLE:
            return (BYTE_ORDER_MARK + table_of(facts, client_id, words)).encode(), "table.csv"
        if kind == TOLD:
            return told_page(facts, client_id, words).encode(), "told.html"
        days = days_of(kind)
        if kind.startswith(REVIEW):
            page = for_client(facts, client_id, days, words, self._pictures)
            return page.encode(), "review.html"
        if not may_write_to_doctor(facts.client(client_id), facts):
            raise KeyError(content_id)
        return for_doctor(facts, client_id, days, words).encode(), f"{DOCTOR}.html"


def _is_number(text: str) -> bool:
    return text.isdecimal() and text.isascii() and len(text) <= LONGEST_NUMBER
