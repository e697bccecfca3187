"""Each step of the migrations holds for a store with people in it, not only for an empty one."""

from pathlib import Path

from alembic import command
from alembic.script import ScriptDirectory
from sqlalchemy import MetaData

from bot.storage.database import Database, newest_form
from bot.storage.encryption import Encryption
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


def test_the_last_number_is_the_newest_form_for_the_library_too(store: Database):
    """A start asks by the number alone whether there is anything to bring up."""
    with store.engine.connect() as connection:
        scripts = ScriptDirectory.from_config(config_for(connection))

    assert newest_form() == scripts.get_current_head()
