"""Erasing leaves no word of a person in any table, whatever tables there are."""

from sqlalchemy import select
from sqlmodel import SQLModel

from bot.flows.changes import Erase
from bot.storage.changes.apply import apply_all
from bot.storage.changes.applying import Applying
from bot.storage.database import Database
from core.vocabulary import PersonId
from tests.bot.storage.conftest import NOON
from tests.bot.storage.filled import SEALED, fill

NOT_OF_A_PERSON = {"key_proof": "the known word that proves the key"}
"""Tables whose sealed words nobody has said -> what they are."""

DONE_WITH = {"inbox": {"status": "done"}, "outbox": {"status": "sent", "edits_id": None}}
"""What must be so for a row to be erased: an arrival that waits is still to be answered."""


def test_erasing_empties_every_sealed_column(store: Database):
    sealed = {
        table.name: [column.name for column in table.columns if column.name.endswith(SEALED)]
        for table in SQLModel.metadata.sorted_tables
        if table.name not in NOT_OF_A_PERSON
    }
    with store.engine.connect() as connection:
        words = store.encryption.encrypt_json({"said": "my own words"})
        fill(connection, SQLModel.metadata, words, whole=True, given=DONE_WITH)

    with store.unit() as unit:
        apply_all(Applying(unit, PersonId(1), NOON, str), [Erase(PersonId(1))])
        unit.commit()

    with store.engine.connect() as connection:
        left = {
            f"{table.name}.{name}"
            for table in SQLModel.metadata.sorted_tables
            for name in sealed.get(table.name, ())
            if any(connection.execute(select(table.columns[name])).scalars())
        }
    assert left == set()
