"""A real store in a file, made quickly: migrated once, copied for each test."""

import shutil
import tempfile
from functools import cache
from pathlib import Path

from bot.storage.database import Database
from bot.storage.vault import Vault

KEY = b"MDEyMzQ1Njc4OTAxMjM0NTY3ODkwMTIzNDU2Nzg5MDE="
"""A Fernet key for tests."""


def store_at(path: Path) -> Database:
    """A store with all tables in the file ``path``, which is made when it is missing."""
    if not path.exists():
        shutil.copyfile(_migrated(), path)
    return Database(f"sqlite:///{path}", Vault(KEY))


@cache
def _migrated() -> Path:
    path = Path(tempfile.mkdtemp(prefix="dayrung-test-")) / "template.sqlite3"
    database = Database(f"sqlite:///{path}", Vault(KEY))
    database.migrate()
    with database.engine.connect() as connection:
        connection.exec_driver_sql("PRAGMA wal_checkpoint(TRUNCATE)")
        connection.exec_driver_sql("PRAGMA journal_mode=DELETE")
    database.close()
    return path
