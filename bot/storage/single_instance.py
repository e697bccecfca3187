"""At most one service at a time works on a data folder and on a database.

Two would both send what waits, and take turns at the platform's messages. The locks end with the
process, however it ends, so that a crash never keeps the next start out.
"""

import sqlite3
from contextlib import suppress
from pathlib import Path

from sqlalchemy import Connection, text
from sqlalchemy.exc import SQLAlchemyError

from bot.errors import SettingsError, StoreError
from bot.private_files import private_file, private_folder
from bot.storage.database import Database

ENDING = ".serving"
"""Added to the name of what is being served; an empty file that is locked while it is."""

ADVISORY_LOCK = 0x0DA1_2011_5E17
"""The number under which a service holds its PostgreSQL database."""


class SingleInstance:
    """The locks of one process. Used from one thread at a time."""

    def __init__(self, home: Path, database: Database) -> None:
        """Nothing is locked yet."""
        self._home = home
        self._database = database
        self._files: list[sqlite3.Connection] = []
        self._connection: Connection | None = None

    def lock_files(self) -> None:
        """Lock the data folder, and the SQLite file wherever it is.

        Raises:
            SettingsError: another service has one of them, or they cannot be used.
        """
        places = [self._home / f"dayrung{ENDING}"]
        url = self._database.engine.url
        if url.get_backend_name() == "sqlite" and url.database not in (None, "", ":memory:"):
            path = Path(str(url.database)).resolve()
            places.append(path.with_name(path.name + ENDING))
        for place in places:
            self._files.append(held(place))

    def lock_database(self) -> bool:
        """Lock a PostgreSQL database; False while another service has it. SQLite: always True.

        Raises:
            StoreError: the database cannot be used.
        """
        if self._database.engine.dialect.name == "sqlite":
            return True
        try:
            if self._connection is None:
                connection = self._database.engine.connect()
                self._connection = connection.execution_options(isolation_level="AUTOCOMMIT")
            return bool(
                self._connection.scalar(
                    text("SELECT pg_try_advisory_lock(:lock)"), {"lock": ADVISORY_LOCK}
                )
            )
        except SQLAlchemyError as error:
            self._let_go()
            raise StoreError(f"the database cannot be taken: {type(error).__name__}") from None

    def still_ours(self) -> bool:
        """False when another service has taken the PostgreSQL database.

        While it cannot be reached nobody else can take it either, and safety replies still go out
        without it: then it counts as ours.
        """
        if self._connection is not None:
            try:
                self._connection.execute(text("SELECT 1"))
            except SQLAlchemyError:
                self._let_go()
            else:
                return True
        try:
            return self.lock_database()
        except StoreError:
            return True

    def release(self) -> None:
        """Release all locks."""
        self._let_go()
        while self._files:
            self._files.pop().close()

    def _let_go(self) -> None:
        connection, self._connection = self._connection, None
        if connection is not None:
            with suppress(SQLAlchemyError):
                connection.execute(text("SELECT pg_advisory_unlock_all()"))
            with suppress(SQLAlchemyError):
                # Closed for good, whatever state it is in; the pool does not get it back.
                connection.detach()
                connection.close()


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
