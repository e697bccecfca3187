"""Which document a content id names, and who may have it.

An id names kind, client, coach and moment ("told-12-1-1772432100"); it is made when a channel
loads it, from the record as it stands, and only for somebody who may still see that client.
"""

from collections.abc import Callable, Mapping
from datetime import UTC, datetime

from bot.flows.coach.client.letters import TOLD
from bot.flows.facts import Reference
from bot.letters.told import told_page
from bot.reference.words import Words
from bot.storage.facts import StoreFacts
from bot.storage.people import get_person
from bot.storage.unit import UnitOfWork
from core.vocabulary import PersonId

MAKERS: Mapping[str, Callable[[StoreFacts, PersonId, Words], str]] = {TOLD: told_page}
ENDINGS = {TOLD: "html"}
LONGEST_NUMBER = 12
"""Digits, as far as our ids and moments count."""


class Letters:
    """Makes documents from the record."""

    def __init__(self, words: Words, reference: Reference) -> None:
        """``words`` say them; ``reference`` is what flows read beside the record."""
        self._words = words
        self._reference = reference

    def knows(self, content_id: str) -> bool:
        """Whether an id has the shape of one of these documents."""
        kind, *numbers = content_id.split("-")
        return kind in MAKERS and len(numbers) == 3 and all(map(_is_number, numbers))

    def load(self, unit: UnitOfWork, content_id: str) -> tuple[bytes, str]:
        """(bytes, file name).

        Raises:
            KeyError: whoever asked for it may not see this client.
        """
        kind, *numbers = content_id.split("-")
        client, coach, moment = (int(number) for number in numbers)
        me = get_person(unit, PersonId(coach))
        facts = StoreFacts(unit, me, datetime.fromtimestamp(moment, UTC), self._reference)
        if me.left or not facts.is_coach_of(PersonId(client)):
            raise KeyError(content_id)
        page = MAKERS[kind](facts, PersonId(client), self._words)
        return page.encode(), f"{kind}.{ENDINGS[kind]}"


def _is_number(text: str) -> bool:
    return text.isdecimal() and text.isascii() and len(text) <= LONGEST_NUMBER
