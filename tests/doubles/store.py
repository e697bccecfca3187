"""A real store in a file, made quickly: migrated once, copied for each test."""

import asyncio
import sqlite3
import tempfile
from collections.abc import Callable
from contextlib import closing
from functools import cache
from pathlib import Path
from typing import Any

from bot.storage.columns import seal_with
from bot.storage.database import Database
from bot.storage.encryption import Encryption
from tests.doubles.keys import KEY

__all__ = ["KEY", "compiled_once", "migrated", "store_at", "without_threads"]


def store_at(path: Path) -> Database:
    """A store with all tables in the file ``path``, which is made when it is missing."""
    if not path.exists():
        path.write_bytes(migrated())
    return Database(f"sqlite:///{path}", Encryption(KEY))


def compiled_once(store: Database) -> None:
    """Let each statement be compiled once for all these stores, not once for each."""
    shared = _in_files if store.is_file else _on_server
    dialect = store.engine.dialect = shared.setdefault("dialect", store.engine.dialect)
    seal_with(store.encryption, dialect)
    store.engine.update_execution_options(compiled_cache=shared.setdefault("cache", {}))
    vars(store)["_forms"] = shared.setdefault("forms", vars(store)["_forms"])


_in_files: dict[str, Any] = {}
_on_server: dict[str, Any] = {}


def without_threads(store: Database) -> None:
    """Let the loop do the store's work, a fourth quicker than handing it to a thread and back.

    Whoever asks still waits for a turn: everything else that can go on does so first, and work
    is done in the order in which it was asked for, as on the one thread of an SQLite store.
    """

    def in_turn(now: Callable[..., Any]) -> Callable[..., Any]:
        async def work(*given: Any) -> Any:
            await asyncio.sleep(0)
            return now(*given)

        return work

    vars(store).update(run=in_turn(store.run_now), read=in_turn(store.read_now))


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
