"""A whole store as one file, and a store from such a file.

SQLite's own backup takes a consistent copy beside a running writer; for PostgreSQL its programs
``pg_dump`` and ``pg_restore`` do (they must be installed, and not be older than the server).
"""

import os
import shutil
import sqlite3
import subprocess
from collections.abc import Sequence
from contextlib import closing
from pathlib import Path

from sqlalchemy import inspect
from sqlalchemy.exc import SQLAlchemyError

from bot.errors import SettingsError, StoreError
from bot.settings import environment_with
from bot.storage.database import Database

SQLITE_FILE = "dayrung.sqlite3"
POSTGRESQL_FILE = "dayrung.pgdump"

BESIDE_A_STORE = ("", "-wal", "-shm", "-journal")
"""Endings of an SQLite store's file and of what SQLite keeps beside it."""

_FROM_ADDRESS = {
    "host": "PGHOST",
    "port": "PGPORT",
    "user": "PGUSER",
    "password": "PGPASSWORD",
    "dbname": "PGDATABASE",
    "sslmode": "PGSSLMODE",
    "sslrootcert": "PGSSLROOTCERT",
    "sslcert": "PGSSLCERT",
    "sslkey": "PGSSLKEY",
}
"""What an address says, and the variable by which PostgreSQL's programs are told.

Their arguments can be read by everybody on the machine, and an address may hold a password.
"""


def sqlite_file(database: Database) -> Path | None:
    """The file of an SQLite store; ``None`` for PostgreSQL."""
    url = database.engine.url
    return Path(str(url.database)) if url.get_backend_name() == "sqlite" else None


def copy_store(database: Database, folder: Path) -> Path:
    """Copy the whole store into a new file in ``folder``, beside a running service.

    Raises:
        SettingsError: PostgreSQL's programs are missing.
        StoreError: the store cannot be copied, or the copy is damaged.
    """
    source = sqlite_file(database)
    if source is None:
        copy = folder / POSTGRESQL_FILE
        options = ("--format=custom", "--no-owner", "--no-privileges", *_of_its_own(database))
        _program(database, "pg_dump", *options, f"--file={copy}")
        check_dump(database, copy)
        return copy
    copy = folder / SQLITE_FILE
    try:
        with (
            closing(sqlite3.connect(f"{source.absolute().as_uri()}?mode=ro", uri=True)) as store,
            closing(sqlite3.connect(copy)) as target,
        ):
            store.backup(target)
            # One file, with nothing beside it.
            target.execute("PRAGMA journal_mode=DELETE")
    except sqlite3.Error as error:
        raise StoreError(f"the store cannot be copied: {error}") from None
    check_file(copy)
    return copy


def check_file(path: Path) -> None:
    """Read an SQLite file from end to end.

    Raises:
        StoreError: it is damaged.
    """
    try:
        with closing(sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro", uri=True)) as store:
            (state,) = store.execute("PRAGMA integrity_check").fetchone()
            orphans = store.execute("PRAGMA foreign_key_check").fetchone()
    except sqlite3.Error as error:
        raise StoreError(f"the copy is damaged: {error}") from None
    if state != "ok" or orphans is not None:
        raise StoreError("the copy is damaged: its rows do not fit together")


def check_dump(database: Database, dump: Path) -> None:
    """Read a PostgreSQL dump from end to end.

    Raises:
        SettingsError: PostgreSQL's programs are missing.
        StoreError: it is damaged.
    """
    _program(database, "pg_restore", f"--file={os.devnull}", str(dump))


def is_empty(database: Database) -> bool:
    """Whether nothing at all stands where a PostgreSQL store is to go.

    Raises:
        StoreError: it does not answer.
    """
    try:
        return not inspect(database.engine).get_table_names()
    except SQLAlchemyError as error:
        raise StoreError(f"the database does not answer: {type(error).__name__}") from None


def load_dump(database: Database, dump: Path) -> None:
    """Fill an empty PostgreSQL database from a dump: all of it or, when it fails, nothing.

    Raises:
        SettingsError: PostgreSQL's programs are missing.
        StoreError: it cannot be filled.
    """
    options = ("--single-transaction", "--exit-on-error", "--no-owner", "--no-privileges")
    place = (*_of_its_own(database), f"--dbname={database.engine.url.database}")
    _program(database, "pg_restore", *options, *place, str(dump))


def empty_again(database: Database) -> None:
    """Take everything out of a PostgreSQL database that was empty before.

    Raises:
        StoreError: it does not answer.
    """
    try:
        names = inspect(database.engine).get_table_names()
        quoted = ", ".join(f'"{name}"' for name in names)
        if quoted:
            with database.engine.begin() as connection:
                connection.exec_driver_sql(f"DROP TABLE {quoted} CASCADE")
    except SQLAlchemyError as error:
        raise StoreError(f"the database cannot be emptied: {type(error).__name__}") from None


def _of_its_own(database: Database) -> tuple[str, ...]:
    """What keeps PostgreSQL's programs to the practice's own schema, where others stand beside it.

    Raises:
        StoreError: the database does not answer.
    """
    try:
        schema = inspect(database.engine).default_schema_name
    except SQLAlchemyError as error:
        raise StoreError(f"the database does not answer: {type(error).__name__}") from None
    return () if schema in (None, "public") else (f"--schema={schema}",)


def _program(database: Database, name: str, *arguments: str) -> None:
    """Run one of PostgreSQL's programs on the database.

    Raises:
        SettingsError: it is not installed.
        StoreError: it failed; its own words say why.
    """
    path = shutil.which(name)
    if path is None:
        raise SettingsError(f"PostgreSQL's program {name} is not installed here.")
    done = subprocess.run(  # noqa: S603 - a fixed program, and nothing that people say
        [path, *arguments],
        env=environment_with(_told(database)),
        capture_output=True,
        text=True,
        check=False,
    )
    if done.returncode:
        raise StoreError(f"{name}: {_last_line(done.stderr.splitlines())}")


def _told(database: Database) -> dict[str, str]:
    """The address, in the variables of PostgreSQL's programs."""
    _, given = database.engine.dialect.create_connect_args(database.engine.url)
    return {_FROM_ADDRESS[one]: str(said) for one, said in given.items() if one in _FROM_ADDRESS}


def _last_line(said: Sequence[str]) -> str:
    return next((line.strip() for line in reversed(said) if line.strip()), "it failed")
