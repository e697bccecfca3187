"""Erasing leaves no word of a person in any table, whatever tables there are."""

import json
from dataclasses import replace
from pathlib import Path

from sqlalchemy import select
from sqlmodel import SQLModel

from bot.flows.changes import Erase
from bot.storage.changes.apply import apply_all
from bot.storage.changes.applying import Applying
from bot.storage.database import Database
from bot.storage.erasing.erasures import Entry, ErasureList
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


def test_an_older_version_reads_from_each_new_line_of_the_list_who_was_erased(
    tmp_path: Path,
) -> None:
    listed = ErasureList(tmp_path / "erasures")
    kept = Entry(1, "2026-01-05T08:00:00+00:00", "2026-03-01T08:00:00+00:00")
    gone = Entry(2, kept.since, kept.erased, "2026-03-02T08:00:00+00:00")
    listed.add([kept, gone])
    listed.add([replace(kept, whole=gone.whole)])

    lines = [json.loads(one) for one in (tmp_path / "erasures").read_text().split("\n") if one]
    # What an older version knows of a line; it passes over what has more.
    read_by_all = {one["person"] for one in lines if set(one) == {"person", "since", "erased"}}
    assert read_by_all == {1, 2}
    assert listed.entries() == [replace(kept, whole=gone.whole), gone]
    with (tmp_path / "erasures").open("a") as file:
        file.write('{"person": [], "since": "", "erased": "2026-03-01"}\n')
    assert listed.damaged() == 1
    assert len(listed.entries()) == 2
