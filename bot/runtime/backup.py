"""Backing a practice up beside its running service, and bringing it back into an empty place."""

import os
import shutil
import tempfile
from collections.abc import Iterable, Iterator
from contextlib import contextmanager, suppress
from datetime import datetime
from pathlib import Path

from bot.errors import SettingsError, StoreError
from bot.reference.catalogue import OWN_MOVEMENTS, OWN_WORDS
from bot.runtime.archive import BackupContents, names_of, pack, unpack
from bot.runtime.place import look_at
from bot.settings import Settings, key_for_nothing, read_key
from bot.storage.database import Database
from bot.storage.encryption import Encryption
from bot.storage.key_proof import check_key
from bot.storage.questions.counts import count_clients
from bot.storage.single_instance import ENDING, SingleInstance
from bot.storage.whole_copy import (
    BESIDE_A_STORE,
    POSTGRESQL_FILE,
    SQLITE_FILE,
    check_dump,
    check_file,
    copy_store,
    empty_again,
    is_empty,
    load_dump,
    sqlite_file,
)

BEFORE_THE_STORE = ("spool", "spool.taken", "spool.aside", OWN_MOVEMENTS, OWN_WORDS)
"""What a practice's folder holds beside the store and the key, and cannot be made again.

They are copied first: what goes from the spool into the store meanwhile is then in both, and is
taken once; in the other order it would be in neither.
"""

UNFINISHED = ".restoring-"
"""Begins the name of a folder in which a restore is at work, or was when it was killed."""


def back_up(settings: Settings, target: Path, passphrase: Path | None, now: datetime) -> int:
    """Write a backup and read it again; gives the number of clients in it.

    Args:
        target: the file; it appears only when it is whole.
        passphrase: a file with the words that seal it; ``None``: it is not sealed.

    Raises:
        SettingsError: something is missing, or a setting is wrong.
        StoreError: the store cannot be copied.
    """
    place = look_at(settings)
    if place.key is None or place.missing:
        raise SettingsError(place.missing)
    with _folder_beside(target, ".dayrung-backup-") as work:
        inside, again = work / "inside", work / "again"
        inside.mkdir()
        again.mkdir()
        _copy(settings.home, BEFORE_THE_STORE, inside)
        if settings.followed_key_file == settings.home / "key":
            _copy(settings.home, ["key"], inside)
        database = Database(settings.database_address, Encryption(place.key))
        try:
            clients = _clients_in(database)
            copy_store(database, inside)
            part = work / "whole"
            pack(inside, now.isoformat(), place.key, part, passphrase)
            unpack(part, again, passphrase)
            _prove(again, database, place.key)
        finally:
            database.close()
        part.replace(target)
        _keep_names(target.parent)
    return clients


def bring_back(settings: Settings, source: Path, passphrase: Path | None) -> tuple[int, str]:
    """Bring a backup into an empty place; gives the number of clients, and when it was made.

    Nothing is brought before everything has been proven. The store comes last, so that a restore
    that is killed leaves no store behind.

    Raises:
        SettingsError: the place is not empty, the backup is damaged, or its key is not here.
        StoreError: the store cannot be made there.
    """
    # It opens nothing: the key is in the backup, or has yet to be held against it.
    target = Database(settings.database_address, Encryption(key_for_nothing()))
    lock = SingleInstance(settings.home, target)
    lock.lock_files()
    try:
        if not lock.lock_database():
            raise SettingsError(
                "Another dayrung serve is running on DAYRUNG_DATABASE. Stop it first."
            )
        _demand_empty(settings, target)
        with _folder_beside(settings.home / "store", UNFINISHED) as work:
            contents = unpack(source, work, passphrase)
            key = _key_for(contents, settings, work, source)
            _prove(work, target, key)
            clients = _put_in_place(settings, target, work, key)
        return clients, contents.made_at
    finally:
        lock.release()
        target.close()


def _demand_empty(settings: Settings, target: Database) -> None:
    """Refuse a place where anything stands: a store, what SQLite left beside one, a spool."""
    file = sqlite_file(target)
    beside = [] if file is None else [file.with_name(file.name + end) for end in BESIDE_A_STORE]
    for left in settings.home.glob(f"{UNFINISHED}*"):
        shutil.rmtree(left)
    # The locks of services, which this restore holds itself, are nothing.
    found = [path for path in settings.home.iterdir() if ENDING not in path.suffix]
    found += [path for path in beside if path.exists() and path not in found]
    if found:
        names = ", ".join(sorted(path.name for path in found)[:5])
        raise SettingsError(
            f"{settings.home} is not empty ({names}). Move what is there away first."
        )
    if file is None and not is_empty(target):
        raise SettingsError("The database of DAYRUNG_DATABASE is not empty. Name an empty one.")


def _key_for(contents: BackupContents, settings: Settings, work: Path, source: Path) -> bytes:
    """The keys that will be used: those of the settings, or those in the backup.

    Raises:
        SettingsError: they are missing, or one that the backup names is not among them.
    """
    inside = Settings.model_copy(settings, update={"home": work})
    key = read_key(inside)
    if key is None:
        raise SettingsError(f"The key of {source} is not in it: set DAYRUNG_KEY to it first.")
    missing = [one for one in contents.keys if one not in names_of(key)]
    if missing:
        raise SettingsError(
            f"The key is not the one that {source} was made with, which is called {missing[0]}."
        )
    return key


def _prove(folder: Path, target: Database, key: bytes) -> None:
    """Read the copy of a store from end to end, and open it with its key where it is a file.

    Raises:
        SettingsError: the key is another one.
        StoreError: the copy is damaged, or belongs to a newer program or another kind of database.
    """
    file, dump = folder / SQLITE_FILE, folder / POSTGRESQL_FILE
    if file.exists() is (sqlite_file(target) is None):
        raise SettingsError(
            "The backup is of another kind of database than DAYRUNG_DATABASE names."
        )
    if dump.exists():
        check_dump(target, dump)
        return
    check_file(file)
    store = Database(f"sqlite:///{file}", Encryption(key))
    try:
        _clients_in(store)
    finally:
        store.close()
        for end in BESIDE_A_STORE[1:]:
            file.with_name(file.name + end).unlink(missing_ok=True)


def _clients_in(store: Database) -> int:
    """How many clients a store has, which this key and this program can read.

    Raises:
        SettingsError: the key is another one.
        StoreError: it is damaged, or a newer program's.
    """
    if not store.is_current():
        if not store.is_made():
            raise StoreError("there is no store in it")
        # An older program's; the key was known by its name.
        return 0
    store.read_now(check_key)
    return store.read_now(count_clients)


def _put_in_place(settings: Settings, target: Database, work: Path, key: bytes) -> int:
    """Move everything, the store last, and open it there; when that fails, nothing of it stays."""
    moved: list[Path] = []
    file = sqlite_file(target)
    try:
        for path in sorted(work.iterdir()):
            if path.name not in (SQLITE_FILE, POSTGRESQL_FILE):
                moved.append(settings.home / path.name)
                path.chmod(0o700 if path.is_dir() else 0o600)
                path.rename(moved[-1])
        _keep_names(settings.home)
        if file is not None:
            moved.append(file)
            _move_whole(work / SQLITE_FILE, file)
            _keep_names(file.parent)
        else:
            load_dump(target, work / POSTGRESQL_FILE)
        restored = Database(settings.database_address, Encryption(key))
        try:
            return _clients_in(restored)
        except BaseException:
            if file is None:
                empty_again(target)
            raise
        finally:
            restored.close()
    except BaseException:
        for path in moved:
            if path.is_dir():
                shutil.rmtree(path, ignore_errors=True)
            else:
                path.unlink(missing_ok=True)
        raise


def _move_whole(source: Path, target: Path) -> None:
    """Move a file, also to another disk: it appears there only when it is whole."""
    part = target.with_name(f".{target.name}.part")
    try:
        shutil.copyfile(source, part)
        part.chmod(0o600)
        handle = os.open(part, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
        part.replace(target)
    finally:
        part.unlink(missing_ok=True)


def _copy(home: Path, names: Iterable[str], folder: Path) -> None:
    for name in names:
        path = home / name
        with suppress(FileNotFoundError):
            if path.is_dir():
                shutil.copytree(path, folder / name)
            else:
                shutil.copy2(path, folder / name)


@contextmanager
def _folder_beside(path: Path, prefix: str) -> Iterator[Path]:
    """A folder for our eyes alone, on the same disk as ``path``.

    Raises:
        SettingsError: none can be made there.
    """
    try:
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        made = tempfile.TemporaryDirectory(prefix=prefix, dir=path.parent)
    except OSError as error:
        raise SettingsError(f"{path.parent} cannot be written: {error.strerror}.") from None
    with made as folder:
        yield Path(folder)


def _keep_names(folder: Path) -> None:
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
