"""At most one service at a time works on a data folder and on a database.

Two would both send what waits, and take turns at the platform's messages. The locks end with the
process, however it ends, so that a crash never keeps the next start out; the lock on a PostgreSQL
database ends also with the machine or the network (:mod:`bot.storage.server.connections`).
"""

import hashlib
import sqlite3
import threading
from contextlib import suppress
from enum import Enum
from pathlib import Path

from sqlalchemy import Connection, text
from sqlalchemy.exc import SQLAlchemyError

from bot.errors import SettingsError, StoreError
from bot.private_files import private_file, private_folder
from bot.storage.database import Database
from bot.storage.same_file import FileState
from bot.storage.server.connections import lone_engine

ENDING = ".serving"
"""Added to the name of what is being served; an empty file that is locked while it is."""

ADVISORY_LOCK = 0x0DA1_2011_5E17
"""The number under which a service holds its PostgreSQL database, in the schema ``public``."""

CALLED_OFF_WITHIN = 2.0
"""Seconds that a server gets to call off a wait; a stop must not take longer."""

WAITING = text(
    "SELECT count(*) FROM pg_locks WHERE locktype = 'advisory' AND NOT granted AND objsubid = 1 "
    "AND database = (SELECT oid FROM pg_database WHERE datname = current_database()) "
    "AND ((classid::bigint << 32) | objid::bigint) = :lock"
)
"""How many others wait for the lock of that number in this database."""


class Whose(Enum):
    """Whose a database is, as far as can be told.

    ``UNKNOWN``: it cannot be reached, so another service may have it by now.
    """

    OURS = "ours"
    ANOTHERS = "another's"
    UNKNOWN = "unknown"


class SingleInstance:
    """The locks of one process. Used from one thread at a time, but for :meth:`call_off`."""

    def __init__(self, home: Path, database: Database) -> None:
        """Nothing is locked yet."""
        self._home = home
        self._database = database
        self._files: list[sqlite3.Connection] = []
        self._engine = None if database.is_file else lone_engine(database.address)
        self._connection: Connection | None = None
        self._lock = ADVISORY_LOCK
        self._called_off = threading.Event()
        self.standby_waits = False
        """Whether another service waited for the database when it was last looked at."""

    def lock_files(self) -> None:
        """Lock the data folder, and the SQLite file wherever it is.

        Raises:
            SettingsError: another service has one of them, or they cannot be used.
        """
        places = [self._home / f"dayrung{ENDING}"]
        url = self._database.engine.url
        if self._database.is_file and url.database not in (None, "", ":memory:"):
            path = Path(str(url.database)).resolve()
            places.append(path.with_name(path.name + ENDING))
        for place in places:
            self._files.append(held(place))

    def lock_database(self) -> bool:
        """Lock a PostgreSQL database; False while another service has it. SQLite: always True.

        Raises:
            StoreError: the database cannot be used.
        """
        return self._take("SELECT pg_try_advisory_lock(:lock)")

    def wait_for_database(self) -> bool:
        """The same, but wait until nobody else has it; False when that was called off.

        The server itself wakes who waits, so that nobody has to ask again and again.

        Raises:
            StoreError: the database cannot be used.
        """
        try:
            # The answer of a function without a value is an empty text.
            taken = self._take("SELECT pg_advisory_lock(:lock) IS NOT NULL")
        except StoreError:
            if self._called_off.is_set():
                return False
            raise
        return taken and not self._called_off.is_set()

    def call_off(self) -> None:
        """End the wait of another thread, now and for good."""
        self._called_off.set()
        connection = self._connection
        with suppress(Exception):
            # Whatever it is, the process ends, and the wait with it.
            if connection is not None:
                driver = connection.connection.driver_connection
                if driver is not None:
                    driver.cancel_safe(timeout=CALLED_OFF_WITHIN)

    def look(self) -> Whose:
        """Whose the database is now; a hold that was lost is taken anew where nobody was faster.

        May take seconds where the database does not answer. An SQLite file that is gone may come
        back; another one in its place, as of a restore, is not ours.
        """
        state = self._database.file_state
        if state is not FileState.SAME:
            return Whose.UNKNOWN if state is FileState.GONE else Whose.ANOTHERS
        if self._connection is not None:
            try:
                waiting = self._connection.scalar(WAITING, {"lock": self._lock})
            except SQLAlchemyError:
                self._let_go()
            else:
                self.standby_waits = bool(waiting)
                return Whose.OURS
        try:
            return Whose.OURS if self.lock_database() else Whose.ANOTHERS
        except StoreError:
            return Whose.UNKNOWN

    def release(self) -> None:
        """Release all locks."""
        self._let_go()
        if self._engine is not None:
            self._engine.dispose()
        while self._files:
            self._files.pop().close()

    def _take(self, statement: str) -> bool:
        if self._engine is None:
            return True
        try:
            if self._connection is None:
                self._connection = self._engine.connect()
                self._lock = _number_of(self._connection.scalar(text("SELECT current_schema()")))
            return bool(self._connection.scalar(text(statement), {"lock": self._lock}))
        except SQLAlchemyError as error:
            self._let_go()
            raise StoreError(f"the database cannot be taken: {type(error).__name__}") from None

    def _let_go(self) -> None:
        connection, self._connection = self._connection, None
        if connection is None:
            return
        with suppress(SQLAlchemyError):
            if not connection.invalidated:
                connection.execute(text("SELECT pg_advisory_unlock_all()"))
        with suppress(SQLAlchemyError):
            connection.close()


def _number_of(schema: str | None) -> int:
    """The lock's number: each schema of a database holds a practice of its own."""
    if schema is None:
        raise StoreError("the database has no schema for this user")
    if schema == "public":
        return ADVISORY_LOCK
    digest = hashlib.sha256(schema.encode()).digest()
    return int.from_bytes(digest[:8], signed=True)


def held(place: Path) -> sqlite3.Connection:
    """An empty SQLite file, locked until its connection is closed: that works on every system.

    Raises:
        SettingsError: somebody else holds it, or it cannot be made.
    """
    try:
        private_folder(place.parent)
        private_file(place)
        connection = sqlite3.connect(
            place, timeout=0, isolation_level=None, check_same_thread=False
        )
    except (OSError, sqlite3.Error) as error:
        raise SettingsError(
            f"The data folder {place.parent} (DAYRUNG_HOME) cannot be used: {error}."
        ) from None
    try:
        connection.execute("BEGIN EXCLUSIVE")
    except sqlite3.Error as error:
        connection.close()
        if "locked" in str(error):
            raise SettingsError(
                f"Another dayrung serve is running on {place.parent}. Stop it first, then start "
                "again."
            ) from None
        raise SettingsError(
            f"The data folder {place.parent} (DAYRUNG_HOME) cannot be used: {error}."
        ) from None
    return connection
