"""What stands behind a content id: a picture, a chart, a letter, or a copy of somebody's data."""

from bot.flows.client.own_data import EXPORT
from bot.letters.letters import Letters
from bot.pictures.store import PictureStore
from bot.storage.database import Database
from bot.storage.questions.whole_record import export_json
from core.vocabulary import PersonId

LONGEST_ID = 18
"""Digits of a row's id, as far as a database counts."""


class Contents:
    """Loads contents; every call runs on a thread of its caller's."""

    def __init__(self, pictures: PictureStore, letters: Letters, database: Database) -> None:
        """``pictures`` draws, ``letters`` writes, ``database`` holds the records."""
        self._pictures = pictures
        self._letters = letters
        self._database = database

    def load(self, content_id: str) -> tuple[bytes, str]:
        """(bytes, file name).

        Raises:
            KeyError: nobody asked for a content with this id.
            StoreError: the record cannot be read now.
        """
        kind, _, person = content_id.partition("-")
        if kind == EXPORT and person.isdecimal() and len(person) <= LONGEST_ID:
            copy = self._database.run_now(export_json, PersonId(int(person)))
            return copy, "my-data.json"
        if self._letters.knows(content_id):
            return self._database.run_now(self._letters.load, content_id)
        return self._pictures.load(content_id)
