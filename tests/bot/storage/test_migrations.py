"""Each step of the migrations holds for a store with people in it, not only for an empty one."""

import sqlite3
from contextlib import closing
from pathlib import Path

from alembic import command
from alembic.script import ScriptDirectory
from sqlalchemy import MetaData

from bot.storage.database import Database, newest_form
from bot.storage.encryption import Encryption
from bot.storage.erasing.erasures import ErasureList
from tests.bot.storage.filled import fill
from tests.bot.storage.upgrades import config_for
from tests.doubles.store import KEY

AS_JSON = {
    "alert": {"signs": "[]"},
    "checkin": {"reasons": "[]"},
    "conversation": {"slots": "{}"},
}
"""Columns of the first version whose text a later step reads as JSON."""


def test_every_step_takes_a_store_with_rows_in_every_table(tmp_path: Path):
    """A new column that may not be empty needs a ``server_default``."""
    file = tmp_path / "store.sqlite3"
    file.touch()
    store = Database(f"sqlite:///{file}", Encryption(KEY))
    with store.engine.connect() as connection:
        config = config_for(connection)
        steps = [one.revision for one in ScriptDirectory.from_config(config).walk_revisions()]
        for revision in reversed(steps):
            command.upgrade(config, revision)
            tables = MetaData()
            tables.reflect(connection)
            tables.remove(tables.tables["alembic_version"])
            fill(connection, tables, given=AS_JSON)

    assert store.is_current()
    store.close()


def test_nothing_that_was_open_before_is_left_in_the_file_once_it_is_sealed(tmp_path: Path):
    """Not in rows that were deleted long ago either, which older versions did not overwrite."""
    file, said = tmp_path / "store.sqlite3", b"PLAIN-ANSWER"
    file.touch()
    store = Database(f"sqlite:///{file}", Encryption(KEY), ErasureList(tmp_path / "erasures"))
    with store.engine.connect() as connection:
        command.upgrade(config_for(connection), "0007")
        tables = MetaData()
        tables.reflect(connection)
        tables.remove(tables.tables["alembic_version"])
        fill(connection, tables, given=AS_JSON)
        connection.commit()
    store.engine.dispose()
    with closing(sqlite3.connect(file, isolation_level=None)) as other:
        other.execute("PRAGMA secure_delete=OFF")
        other.execute("UPDATE inbox SET tap = ?", (said.decode(),))
        for number in range(200):
            values = (said.decode() + str(number), f"of {number}")
            other.execute(
                "INSERT INTO inbox (channel, update_id, address, kind, tap, received_at, status,"
                " read, attempts, last_error, message_id, text_sealed)"
                " SELECT channel, ?2, address, kind, ?1, received_at, status, read, attempts,"
                " last_error, message_id, text_sealed FROM inbox LIMIT 1",
                values,
            )
        other.execute("DELETE FROM inbox WHERE id % 3 = 0")
    assert said in file.read_bytes()

    store.upgrade()

    assert all(said not in path.read_bytes() for path in tmp_path.iterdir())
    # Once is enough: it costs a start as long as the file is large.
    before = file.read_bytes()
    store.upgrade()
    assert file.read_bytes() == before
    store.close()


def test_the_last_number_is_the_newest_form_for_the_library_too(store: Database):
    """A start asks by the number alone whether there is anything to bring up."""
    with store.engine.connect() as connection:
        scripts = ScriptDirectory.from_config(config_for(connection))

    assert newest_form() == scripts.get_current_head()
