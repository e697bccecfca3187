"""Backing a practice up beside its running service, and bringing it back into an empty place."""

import os
import shutil
import tempfile
from collections.abc import Iterable, Iterator, Sequence
from contextlib import closing, contextmanager, suppress
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from bot.delivery.spool import Spool
from bot.errors import SettingsError, StoreError
from bot.private_files import private_folder
from bot.reference.catalogue import OWN_MOVEMENTS, OWN_WORDS
from bot.runtime.archive import BackupContents, names_of, pack, unpack
from bot.runtime.place import look_at
from bot.settings import Settings, key_for_nothing, read_key
from bot.storage.database import Database
from bot.storage.encryption import Encryption
from bot.storage.erasing.erased import Erased
from bot.storage.erasing.erasures import ERASURES, ErasureList
from bot.storage.key_proof import check_key
from bot.storage.questions.counts import count_clients
from bot.storage.server.brought_back import pause_all
from bot.storage.server.generation import begin_generation
from bot.storage.server.single_instance import ENDING, SingleInstance, held
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
UNSAVED = ".dayrung-backup-"
"""Begin the name of a folder in which a restore or a backup works, or worked when it was killed."""

IN_USE = f"in-use{ENDING}"
"""File in such a folder that is locked as long as somebody works in it."""


@dataclass(frozen=True, slots=True)
class Restored:
    """What came back.

    Attributes:
        clients: how many.
        made_at: when the backup was made, ISO 8601.
        erasures: where the list of erasures was found by which the store was erased again, or None.
        damaged: how many lines of it cannot be read.
        paused: how many clients were paused for it.
    """

    clients: int
    made_at: str
    paused: int
    erasures: Path | None
    damaged: int


def back_up(settings: Settings, target: Path, passphrase: Path | None, now: datetime) -> int:
    """Write a backup and read it again; gives the number of clients in it.

    Args:
        target: the file; it appears only when it is whole.
        passphrase: a file with the words that seal it; ``None``: it is not sealed.

    Raises:
        SettingsError: something is missing, a setting is wrong, or it cannot be written.
        StoreError: the store cannot be copied.
    """
    try:
        return _back_up(settings, target, passphrase, now)
    except OSError as error:
        raise SettingsError(f"The backup cannot be made: {error.strerror or error}.") from None


def _back_up(settings: Settings, target: Path, passphrase: Path | None, now: datetime) -> int:
    place = look_at(settings)
    if place.key is None or place.missing:
        raise SettingsError(place.missing)
    # What is to be sealed is put together where it lies in the open anyway.
    open_at = target if passphrase is None else settings.home / "backup"
    with _folder_beside(target, UNSAVED) as out, _folder_beside(open_at, UNSAVED) as work:
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
            part = out / "whole"
            pack(inside, now.isoformat(), place.key, part, passphrase)
            unpack(part, again, passphrase)
            _prove(again, database, place.key)
        finally:
            database.close()
        part.replace(target)
        _keep_names(target.parent)
    return clients


def bring_back(
    settings: Settings, source: Path, passphrase: Path | None, now: datetime
) -> Restored:
    """Bring a backup into an empty place; only the list of erasures may be there before.

    Nothing is brought before everything has been proven. The store comes last, so that a restore
    that is killed leaves no store behind. Whoever stands in the list of erasures is erased in it
    again: of this place, or of the folder that was moved away (with ``.old`` to its name).

    Raises:
        SettingsError: the place is not empty, the backup is damaged, its key is not here, or it
            cannot be written.
        StoreError: the store cannot be made there.
    """
    try:
        return _bring_back(settings, source, passphrase, now)
    except OSError as error:
        raise SettingsError(f"Nothing was brought back: {error.strerror or error}.") from None


def _bring_back(
    settings: Settings, source: Path, passphrase: Path | None, now: datetime
) -> Restored:
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
        erasures = _list_of_erasures(settings)
        with _folder_beside(settings.home / "store", UNFINISHED) as work:
            inside = work / "inside"
            inside.mkdir()
            contents = unpack(source, inside, passphrase)
            key = _key_for(contents, settings, inside, source)
            _prove(inside, target, key)
            clients, paused = _put_in_place(settings, target, inside, key, erasures, now)
        damaged = 0 if erasures is None else ErasureList(erasures).damaged()
        return Restored(clients, contents.made_at, paused, erasures, damaged)
    finally:
        lock.release()
        target.close()


def _demand_empty(settings: Settings, target: Database) -> None:
    """Refuse a place where anything stands: a store, what SQLite left beside one, a spool."""
    file = sqlite_file(target)
    beside = [] if file is None else [file.with_name(file.name + end) for end in BESIDE_A_STORE]
    for prefix in (UNFINISHED, UNSAVED):
        _clear_up(settings.home, prefix)
    # The locks of services, which this restore holds itself, are nothing.
    found = [path for path in settings.home.iterdir() if ENDING not in path.suffix]
    found = [path for path in found if path.name != ERASURES]
    found += [path for path in beside if path.exists() and path not in found]
    if found:
        names = ", ".join(sorted(path.name for path in found)[:5])
        raise SettingsError(
            f"{settings.home} is not empty ({names}). Move what is there away first."
        )
    if file is None and not is_empty(target):
        raise SettingsError("The database of DAYRUNG_DATABASE is not empty. Name an empty one.")


def _list_of_erasures(settings: Settings) -> Path | None:
    """The list by which a restored store is erased again; None where there is none.

    Raises:
        StoreError: it cannot be read.
    """
    home = settings.home.absolute()
    for folder in (home, home.with_name(f"{home.name}.old")):
        path = folder / ERASURES
        if path.exists():
            ErasureList(path).entries()
            return path
    return None


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


def _put_in_place(
    settings: Settings,
    target: Database,
    work: Path,
    key: bytes,
    erasures: Path | None,
    now: datetime,
) -> tuple[int, int]:
    """Move everything, the store last, and open it there; when that fails, nothing of it stays.

    Returns:
        How many clients came back, and how many of them were paused for it.
    """
    moved: list[Path] = []
    file = sqlite_file(target)
    try:
        for path in sorted(work.iterdir()):
            if path.name not in (SQLITE_FILE, POSTGRESQL_FILE):
                moved.append(settings.home / path.name)
                path.chmod(0o700 if path.is_dir() else 0o600)
                path.rename(moved[-1])
        here = settings.home / ERASURES
        if erasures is not None and not here.exists():
            moved.append(here)
            shutil.copyfile(erasures, here)
            here.chmod(0o600)
        _keep_names(settings.home)
        if file is not None:
            moved += [file.with_name(file.name + end) for end in BESIDE_A_STORE]
            _move_whole(work / SQLITE_FILE, file)
            _keep_names(file.parent)
        else:
            load_dump(target, work / POSTGRESQL_FILE)
        restored = Database(settings.database_address, Encryption(key), ErasureList(here))
        try:
            clients = _clients_in(restored)
            if erasures is not None:
                _erase_again(settings, restored)
            # Ids begin again where the backup ended: no button of the days since acts on them.
            restored.upgrade()
            restored.run_now(begin_generation, now)
            return clients, restored.run_now(pause_all, now)
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


def _erase_again(settings: Settings, restored: Database) -> None:
    """Erase whoever stands in the list, in the store and in what was kept beside it."""
    spool = Spool(settings.home / "spool", restored.encryption)

    def clean(erased: Sequence[Erased], _waiting: frozenset[str]) -> None:
        spool.forget([chat for one in erased for chat in one.chats])
        for one in erased:
            # Words that waited when the backup was made would come in as if written today.
            if one.asked_at is not None:
                spool.forget_waiting(one.own_chats, one.asked_at)

    restored.clean_files.append(clean)
    restored.upgrade()


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
    """A folder for our eyes alone, on the same disk as ``path``; what a killed one left goes.

    Raises:
        SettingsError: none can be made there.
    """
    try:
        private_folder(path.parent)
        _clear_up(path.parent, prefix)
        made = tempfile.TemporaryDirectory(prefix=prefix, dir=path.parent)
    except OSError as error:
        raise SettingsError(f"{path.parent} cannot be written: {error.strerror}.") from None
    with made as folder, closing(held(Path(folder) / IN_USE)):
        yield Path(folder)


def _clear_up(folder: Path, prefix: str) -> None:
    """Take away what was left by those who were killed: it may hold a store and its key."""
    for left in folder.glob(f"{prefix}*"):
        with suppress(SettingsError), closing(held(left / IN_USE)):
            shutil.rmtree(left)


def _keep_names(folder: Path) -> None:
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
