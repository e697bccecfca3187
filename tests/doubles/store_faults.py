"""Ways in which a store fails under a running program, and how each ends."""

import sqlite3
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, closing, contextmanager
from pathlib import Path

from sqlalchemy import Connection, event
from sqlalchemy.exc import OperationalError

from bot.storage.database import Database

Fault = Callable[[Database], AbstractContextManager[None]]


@contextmanager
def locked(database: Database) -> Iterator[None]:
    """Another program holds the write lock."""
    path = Path(str(database.engine.url.database))
    with closing(sqlite3.connect(path, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        yield
        other.execute("ROLLBACK")


@contextmanager
def full(database: Database) -> Iterator[None]:
    """The disk is full: no page can be added any more."""
    with _at_each_begin(database, lambda one: _pragma(one, "max_page_count=1")):
        yield


@contextmanager
def only_readable(database: Database) -> Iterator[None]:
    """Nothing can be written, as when the disk was mounted anew after an error."""
    with _at_each_begin(database, lambda one: _pragma(one, "query_only=ON")):
        yield


@contextmanager
def broken(database: Database) -> Iterator[None]:
    """Each transaction raises what a dying disk makes of it."""
    with _at_each_begin(database, _dying_disk):
        yield


@contextmanager
def broken_after_the_first_commit(database: Database) -> Iterator[None]:
    """The same, but one arrival is still taken: only working it off fails."""
    writes: list[None] = []

    def fail(connection: Connection) -> None:
        if connection.get_execution_options().get("only_reads"):
            return
        writes.append(None)
        if len(writes) > 1:
            _dying_disk(connection)

    with _at_each_begin(database, fail):
        yield


@contextmanager
def faulty_program(database: Database) -> Iterator[None]:
    """Each transaction raises an error that no store should: a fault of ours."""

    def fail(_connection: Connection) -> None:
        raise RuntimeError("a fault in the program, with my chest hurts in its words")

    with _at_each_begin(database, fail):
        yield


@contextmanager
def _at_each_begin(database: Database, act: Callable[[Connection], None]) -> Iterator[None]:
    event.listen(database.engine, "begin", act)
    try:
        yield
    finally:
        event.remove(database.engine, "begin", act)
        # Open connections keep what was set on them.
        database.engine.dispose()


def _pragma(connection: Connection, words: str) -> None:
    connection.exec_driver_sql(f"PRAGMA {words}")


def _dying_disk(_connection: Connection) -> None:
    raise OperationalError("BEGIN", None, sqlite3.OperationalError("disk I/O error"))
