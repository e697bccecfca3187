"""A real store in a file, made quickly: migrated once, copied for each test."""

import sqlite3
import tempfile
from contextlib import closing
from functools import cache
from pathlib import Path
from typing import Any

from bot.storage.columns import seal_with
from bot.storage.database import Database
from bot.storage.encryption import Encryption

KEY = b"MDEyMzQ1Njc4OTAxMjM0NTY3ODkwMTIzNDU2Nzg5MDE="
"""A Fernet key for tests."""


def store_at(path: Path) -> Database:
    """A store with all tables in the file ``path``, which is made when it is missing."""
    if not path.exists():
        path.write_bytes(migrated())
    return Database(f"sqlite:///{path}", Encryption(KEY))


def compiled_once(store: Database) -> None:
    """Let SQLAlchemy compile each statement once for all these stores, not once for each."""
    dialect = store.engine.dialect = _shared.setdefault("dialect", store.engine.dialect)
    seal_with(store.encryption, dialect)
    store.engine.update_execution_options(compiled_cache=_shared.setdefault("cache", {}))


_shared: dict[str, Any] = {}


@cache
def migrated() -> bytes:
    """A database file that has all tables, the proof of ``KEY``, and nobody in it."""
    with tempfile.TemporaryDirectory(prefix="dayrung-test-") as folder:
        path = Path(folder) / "template.sqlite3"
        database = Database(f"sqlite:///{path}", Encryption(KEY))
        database.migrate()
        database.close()
        # One file without a log beside it, so that its bytes are the whole store.
        with closing(sqlite3.connect(path)) as connection:
            connection.execute("PRAGMA journal_mode=DELETE")
        return path.read_bytes()
