"""One database and its threads.

The store is synchronous; the loop awaits it through :meth:`Database.run`. SQLite has one writer
thread (so no statement ever waits for a lock of our own), PostgreSQL a small pool.
"""

import asyncio
import logging
import sqlite3
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from functools import partial
from pathlib import Path
from stat import S_ISREG
from typing import TYPE_CHECKING, Any, TypeVar, TypeVarTuple

from sqlalchemy import Connection, Dialect, Engine, create_engine, event, inspect, text
from sqlalchemy.exc import (
    ArgumentError,
    InterfaceError,
    InternalError,
    OperationalError,
    SQLAlchemyError,
)
from sqlalchemy.exc import TimeoutError as NoConnection
from sqlmodel import Session, SQLModel

from bot.errors import SettingsError, StoreAway, StoreError, StoreMissing, StoreNewer
from bot.measures import Counted, Measures, Timed
from bot.private_files import private_file
from bot.storage.cache import TrainingCache
from bot.storage.columns import seal_with
from bot.storage.encryption import Encryption
from bot.storage.erasing.erased import Erased
from bot.storage.erasing.erasures import ErasureList, erase_listed, not_listed
from bot.storage.erasing.scrub import is_rewritten, scrub
from bot.storage.erasing.unfinished import mark_finished, pictures_waiting, unfinished
from bot.storage.key_change import renew_chats
from bot.storage.key_proof import follow_proof, prove_key, prove_newest
from bot.storage.prepared import Forms
from bot.storage.same_file import FileState, OpenedFile
from bot.storage.server.connections import WRONG_ADDRESS, shared_engine
from bot.storage.server.generation import generation_of
from bot.storage.unit import PartOfWhole, UnitOfWork

if TYPE_CHECKING:
    from alembic.config import Config

MIGRATIONS = Path(__file__).parent / "migrations"
POSTGRES_THREADS = 4

NEWER = "the database belongs to a newer Dayrung; install that, or bring back an older backup"

CONNECT = {"check_same_thread": False, "timeout": 5.0, "cached_statements": 512}
"""To SQLite. There are more statements than the driver would keep (128)."""

READS = "only_reads"
"""Marks connections whose transactions change nothing."""

CleanFiles = Callable[[Sequence[Erased], frozenset[str]], None]
"""Takes what is left of somebody erased out of files; the ids of pictures that are still to be sent
stay. Raises ``StoreError`` or ``OSError``."""

log = logging.getLogger(__name__)

Result = TypeVar("Result")
Given = TypeVarTuple("Given")


class Database:
    """The store, reached from any thread or from the loop."""

    def __init__(
        self,
        address: str,
        encryption: Encryption,
        erasures: ErasureList | None = None,
        *,
        at_once: bool = False,
    ) -> None:
        """Nothing is opened before the first use.

        Args:
            address: as SQLAlchemy names it.
            erasures: the list of who was erased, beside the database.
            at_once: work is done on the thread that asks, in one transaction that :meth:`end_whole`
                ends, and on SQLite no commit waits for the disk. For one thread alone, with work
                that is done anew when it breaks off: after a failure nothing of it is there, and
                the store can be used no more. At the end, another store at the same address makes
                it last (:meth:`make_lasting`).

        Raises:
            SettingsError: that is no address, or its driver is missing.
        """
        self.address = address
        self.encryption = encryption
        self.clean_files: list[CleanFiles] = []
        """Called on a store thread after each erasure."""
        self._erasures = erasures
        self._uncleaned: list[Erased] = []
        self._log_uncleaned = False
        self._training_cache = TrainingCache()
        self._generation = ""
        self._forms = Forms()
        self._at_once = at_once
        self._whole: Session | None = None
        """The one transaction of a store that works at once, while it is open."""
        self._broken_off = False
        self.measures = Measures()
        """What is counted here, and by whoever works with the store."""
        self.in_doubt = False
        """Whether another service may work on it by now; then it takes no work."""
        self.engine = _engine(address, waits_for_disk=not at_once)
        encryption.hold_newest_back()
        seal_with(encryption, self.engine.dialect)
        event.listen(self.engine, "commit", lambda _: self.measures.count(Counted.COMMITS))
        self._makes = False
        self._opened = OpenedFile(self._file_name) if self._file_name else None
        if self.is_file:
            event.listen(self.engine, "do_connect", self._open_what_is_there)
            if self._opened is not None:
                event.listen(self.engine, "connect", self._opened.opened)
                event.listen(self.engine, "close", self._opened.closed)
        threads = 1 if self.is_file else POSTGRES_THREADS
        self._threads = ThreadPoolExecutor(threads, thread_name_prefix="store")
        self._reading = self.engine.execution_options(**{READS: True})
        self._readers = ThreadPoolExecutor(1, thread_name_prefix="store-reads")

    def unit(self) -> UnitOfWork:
        """A new unit of work, for the calling thread."""
        return self._unit(self.engine)

    def _unit(self, engine: Engine) -> UnitOfWork:
        self.encryption.refresh()
        session = Session(engine, expire_on_commit=False)
        return self._work_in(UnitOfWork, session)

    def _work_in(self, kind: type[UnitOfWork], session: Session) -> UnitOfWork:
        return kind(session, self.encryption, self._training_cache, self._forms, self._generation)

    def run_now(self, work: Callable[[UnitOfWork, *Given], Result], *given: *Given) -> Result:
        """Do ``work(unit, *given)`` in a unit of work, on the calling thread; ``work`` commits.

        Raises:
            StoreError: the database cannot be used now.
        """
        if self._at_once:
            return self._in_whole(work, *given)
        if self.in_doubt:
            raise StoreAway("another service may have taken the database over")
        self._demand_same_file()
        try:
            with self.unit() as unit:
                if self.encryption.newest_waits:
                    follow_proof(unit)
                result = work(unit, *given)
                self._uncleaned += unit.erased
                self._log_uncleaned |= unit.empties_log
            if unit.committed and self.encryption.newest_waits:
                self.prove_newest()
        except SQLAlchemyError as error:
            raise _fault(error) from error
        # What was committed to a file that nobody finds any more is not kept.
        self._demand_same_file()
        if self._uncleaned or self._log_uncleaned:
            self._clean()
        return result

    def prove_newest(self) -> None:
        """Keep a proof of a key that is new here, and seal with it from then on.

        Only where something was written: a command that looks at the store changes nothing in it.
        Where it cannot be written the key goes on waiting: what was done before it lasts, and must
        not count as failed.
        """
        try:
            with self.unit() as unit:
                prove_newest(unit)
        except SQLAlchemyError as error:
            log.error("the new key seals nothing yet: its proof: %s", _plain(error))

    def _in_whole(self, work: Callable[[UnitOfWork, *Given], Result], *given: *Given) -> Result:
        """Do it inside the one transaction.

        Raises:
            StoreError: the database cannot be used now, or an earlier work failed.
        """
        if self._broken_off:
            raise StoreError("what was done before is gone: it failed")
        if self._whole is None:
            self._whole = Session(self.engine, expire_on_commit=False)
        self._broken_off = True
        try:
            with self._work_in(PartOfWhole, self._whole) as unit:
                unit.begin()
                result = work(unit, *given)
        except SQLAlchemyError as error:
            raise _fault(error) from error
        self._broken_off = False
        return result

    def end_whole(self) -> None:
        """Commit all that a store which works at once has done.

        Raises:
            StoreError: the database cannot be used now, or an earlier work failed.
        """
        if self._broken_off:
            raise StoreError("what was done before is gone: it failed")
        if self._whole is None:
            return
        try:
            self._whole.commit()
        except SQLAlchemyError as error:
            raise _fault(error) from error
        finally:
            self._whole.close()
            self._whole = None

    async def run(self, work: Callable[[UnitOfWork, *Given], Result], *given: *Given) -> Result:
        """The same on a store thread, awaited.

        Raises:
            StoreError: the database cannot be used now.
        """
        if self._at_once:
            return self.run_now(work, *given)
        loop = asyncio.get_running_loop()
        asked = self.measures.steady()

        def taken_up() -> Result:
            self.measures.since(Timed.STORE_WAIT, asked)
            with self.measures.timing(Timed.STORE_WORK):
                return self.run_now(work, *given)

        return await loop.run_in_executor(self._threads, taken_up)

    async def read(self, work: Callable[[UnitOfWork, *Given], Result], *given: *Given) -> Result:
        """Do ``work``, which changes nothing, on a thread of its own.

        It waits for no writer, and on SQLite goes on while the store is locked or cannot be
        written.

        Raises:
            StoreError: the database cannot be read now.
        """
        if self._at_once:
            return self.run_now(work, *given)
        loop = asyncio.get_running_loop()
        return await loop.run_in_executor(self._readers, partial(self.read_now, work, *given))

    def read_now(self, work: Callable[[UnitOfWork, *Given], Result], *given: *Given) -> Result:
        """The same, on the calling thread.

        Raises:
            StoreError: the database cannot be read now.
        """
        try:
            with self._unit(self._reading) as unit:
                return work(unit, *given)
        except SQLAlchemyError as error:
            raise _fault(error) from error

    @property
    def file_state(self) -> FileState:
        """Whether the file of an SQLite store is still the one that was opened."""
        return FileState.SAME if self._opened is None else self._opened.look()

    def _demand_same_file(self) -> None:
        if self.file_state is not FileState.SAME:
            raise StoreAway("the file of the store is gone, or is another than the one in use")

    def upgrade(self) -> None:
        """Bring the tables of a store to the newest form.

        Raises:
            SettingsError: the records were sealed with another key.
            StoreError: the database cannot be opened or changed.
            StoreMissing: there is no store; none is made.
            StoreNewer: it is newer than this program.
        """
        if not self.is_made():
            raise StoreMissing("there is no store")
        self.migrate()

    def migrate(self) -> None:
        """The same, but a store that is not there is made.

        Raises:
            SettingsError: the records were sealed with another key.
            StoreError: the database cannot be opened or changed.
            StoreNewer: it is newer than this program.
        """
        self._makes = True
        try:
            with self.engine.connect() as connection:
                newest = _forms(connection) == [newest_form()]
                connection.rollback()
                if not newest:
                    _upgrade(connection, self.encryption)
        except (SQLAlchemyError, OSError) as error:
            raise StoreError(_plain(error)) from error
        finally:
            self._makes = False
        self.run_now(prove_key)
        self._generation = self.run_now(generation_of)
        if self._erasures is not None:
            self.run_now(erase_listed, self._erasures.entries())
            # Only the service cleans pictures and the spool, too.
            self._uncleaned += self.run_now(unfinished)
        self.end_whole()
        if self._uncleaned:
            self._clean()
        if self._erasures is not None:
            self._rewrite_once()

    def _rewrite_once(self) -> None:
        """Take out of the file what older versions left there in the open; tried at each start."""
        name = self._file_name
        try:
            if name and not is_rewritten(name):
                scrub(name, rewrite=True)
        except StoreError as error:
            log.error("the file still holds what was not sealed by older versions: %s", error)

    def renew_chats(self) -> None:
        """Seal chats with the newest key, all at once; only for the one service of a database.

        Raises:
            StoreError: the database cannot be used now.
        """
        self.run_now(renew_chats)

    def _clean(self) -> None:
        """Take what was erased out of all files; what fails is tried again with the next work."""
        erased, self._uncleaned = self._uncleaned, []
        try:
            with self.unit() as unit:
                if self._erasures is not None:
                    self._erasures.add(not_listed(unit, self._erasures.entries()))
                waiting = pictures_waiting(unit) if erased else frozenset()
            if erased:
                for clean in self.clean_files:
                    clean(erased, waiting)
            self._scrub(rewrite=bool(erased))
            if erased:
                with self.unit() as unit:
                    mark_finished(unit)
            self._log_uncleaned = False
        except (StoreError, SQLAlchemyError, OSError) as error:
            log.error("files still hold words that were erased: %s", _plain(error))
            self._uncleaned = erased + self._uncleaned

    def _scrub(self, *, rewrite: bool) -> None:
        name = self._file_name
        if not self.is_file:
            log.warning("words were erased: the database's own files need VACUUM FULL")
        elif name:
            scrub(name, rewrite=rewrite)

    @property
    def is_file(self) -> bool:
        """Whether it is SQLite's, and not a server's."""
        return self.engine.dialect.name == "sqlite"

    @property
    def _file_name(self) -> str:
        """The file of an SQLite store; "" where there is none."""
        name = self.engine.url.database
        return name if self.is_file and name and name != ":memory:" else ""

    def empty(self) -> None:
        """Throw all rows away, those that are pointed at last. For an invented practice only.

        Raises:
            StoreError: the database cannot be used now.
        """
        self.run_now(_empty)

    def make_lasting(self) -> None:
        """Put on the disk what another store wrote here without waiting for it.

        Raises:
            StoreError: the database cannot be used now.
        """
        if self.engine.dialect.name != "sqlite":
            return
        try:
            connection = self.engine.raw_connection()
            try:
                # Not inside a transaction: it would find the database locked.
                connection.cursor().execute("PRAGMA wal_checkpoint(TRUNCATE)")
            finally:
                connection.close()
        except (SQLAlchemyError, sqlite3.Error) as error:
            raise StoreError(_plain(error)) from error

    def is_current(self) -> bool:
        """Whether the tables have their newest form; makes nothing.

        Raises:
            StoreError: the database cannot be opened.
            StoreNewer: it is newer than this program.
        """
        if not self.is_made():
            return False
        try:
            with self._reading.connect() as connection:
                at = _forms(connection)
        except SQLAlchemyError as error:
            raise StoreError(_plain(error)) from error
        if not set(at) <= _known_forms():
            raise StoreNewer(NEWER)
        return at == [newest_form()]

    def is_made(self) -> bool:
        """Whether a store has been made here; makes nothing.

        Raises:
            StoreError: the database cannot be opened.
        """
        if self.is_file and not self.is_there:
            return False
        try:
            with self._reading.connect() as connection:
                return bool(_forms(connection))
        except SQLAlchemyError as error:
            raise StoreError(_plain(error)) from error

    def _open_what_is_there(
        self, _dialect: Dialect, _record: object, arguments: list[Any], named: dict[str, Any]
    ) -> None:
        """A missing SQLite file is no empty store: only :meth:`migrate` makes one.

        The file is for its owner alone, before anything is in it; its log takes over its mode.
        """
        name = str(arguments[0]) if arguments else ""
        if not name or name.startswith((":memory:", "file:")):
            return
        file = Path(name)
        if file.is_file() or (self._makes and file.parent.is_dir() and not file.exists()):
            private_file(file)
        if not self._makes:
            arguments[0] = f"{file.absolute().as_uri()}?mode=rw"
            named["uri"] = True

    @property
    def is_there(self) -> bool:
        """Whether there is a database file with something in it, usable now or not."""
        name = self.engine.url.database
        if not self.is_file or not name:
            return False
        try:
            found = Path(name).stat()
        except FileNotFoundError:
            return False
        except OSError:
            # A broken disk is no missing file.
            return True
        return S_ISREG(found.st_mode) and found.st_size > 0

    def close(self) -> None:
        """Finish what is running, then let go of the database."""
        self._threads.shutdown(wait=True)
        self._readers.shutdown(wait=True)
        if self._whole is not None:
            self._whole.close()
        self.engine.dispose()


def _engine(address: str, *, waits_for_disk: bool) -> Engine:
    if not address.startswith("sqlite"):
        return shared_engine(address, POSTGRES_THREADS + 1)
    try:
        engine = create_engine(address, connect_args=CONNECT)
    except (ArgumentError, ImportError, ValueError):
        raise SettingsError(WRONG_ADDRESS) from None
    event.listen(engine, "connect", _prepare_sqlite)
    if not waits_for_disk:
        event.listen(engine, "connect", _wait_for_no_disk)
    event.listen(engine, "begin", _begin_sqlite)
    return engine


def _empty(unit: UnitOfWork) -> None:
    for table in reversed(SQLModel.metadata.sorted_tables):
        unit.session.execute(table.delete())
    unit.commit()


def _prepare_sqlite(connection: sqlite3.Connection, _record: Any) -> None:
    """An acknowledged answer is on the disk (FULL), readers do not block the writer (WAL)."""
    # The driver would begin only at the first change: what a savepoint holds would last at once.
    connection.isolation_level = None
    cursor = connection.cursor()
    cursor.execute("PRAGMA journal_mode=WAL")
    cursor.execute("PRAGMA synchronous=FULL")
    cursor.execute("PRAGMA foreign_keys=ON")
    # What is deleted is overwritten, not only let go of.
    cursor.execute("PRAGMA secure_delete=ON")
    cursor.close()


def _wait_for_no_disk(connection: sqlite3.Connection, _record: Any) -> None:
    connection.execute("PRAGMA synchronous=OFF")


def _begin_sqlite(connection: Connection) -> None:
    """Take the write lock first: a reader that turns writer would be refused at once."""
    reads = connection.get_execution_options().get(READS, False)
    connection.exec_driver_sql("BEGIN" if reads else "BEGIN IMMEDIATE")


def newest_form() -> str:
    """The name of the newest form of the tables: migrations are numbered, one after the other."""
    return max(_known_forms())


def _known_forms() -> frozenset[str]:
    migrations = (MIGRATIONS / "versions").glob("[0-9]*.py")
    return frozenset(file.name.partition("_")[0] for file in migrations)


def _forms(connection: Connection) -> Sequence[str]:
    """The form that the tables have, none where there is no store.

    Asked without the library, which loads long.
    """
    if not inspect(connection).has_table("alembic_version"):
        return []
    return connection.scalars(text("SELECT version_num FROM alembic_version")).all()


def _upgrade(connection: Connection, encryption: Encryption) -> None:
    """Bring the tables up.

    Raises:
        StoreNewer: they are newer than this program.
    """
    from alembic import command
    from alembic.util import CommandError

    config = _alembic_config()
    config.attributes["connection"] = connection
    config.attributes["encryption"] = encryption
    try:
        command.upgrade(config, "head")
    except CommandError:
        raise StoreNewer(NEWER) from None
    connection.commit()


def _alembic_config() -> "Config":
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS))
    config.set_main_option("path_separator", "os")
    return config


def _fault(error: SQLAlchemyError) -> StoreError:
    """The error of ours that says the same: whether it lies in the work, or in the database now."""
    now = (OperationalError, InterfaceError, InternalError, NoConnection)
    lost = getattr(error, "connection_invalidated", False)
    return (StoreAway if lost or isinstance(error, now) else StoreError)(_plain(error))


def _plain(error: Exception) -> str:
    """What the database says, without the statement and without values: both may be people's.

    SQLite's words hold none. A server's may ("Key (address)=(...) already exists"): of what it
    refuses only the kind is said, and the constraint.
    """
    origin = getattr(error, "orig", None)
    if origin is None:
        return f"{type(error).__name__}: see the log"
    if getattr(origin, "sqlstate", None) is None:
        return f"{type(error).__name__}: {origin}"
    constraint = origin.diag.constraint_name or ""
    return f"{type(error).__name__}: {type(origin).__name__} {constraint}".rstrip()
