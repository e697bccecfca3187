"""What stands behind a content id: a picture, a chart, or a copy of somebody's data."""

from bot.flows.client.own_data import EXPORT
from bot.pictures.store import PictureStore
from bot.storage.database import Database
from bot.storage.questions.whole_record import export_json
from core.vocabulary import PersonId

LONGEST_ID = 18
"""Digits of a row's id, as far as a database counts."""


class Contents:
    """Loads contents; every call runs on a thread of its caller's."""

    def __init__(self, pictures: PictureStore, database: Database) -> None:
        """``pictures`` draws, ``database`` holds the records."""
        self._pictures = pictures
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
        return self._pictures.load(content_id)
