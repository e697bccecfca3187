"""Whether a practice's store and its key are both there and fit; only ``dayrung init`` makes them.

A place that lacks one of them is never taken for a fresh start: known clients would become
strangers, and no coach would hear of their warning signs. Nor does a key that is another one, or
that cannot be got, or a server that does not answer, end the service: then nobody would give safety
advice.
"""

from dataclasses import dataclass

from bot.errors import SettingsError, StoreError, StoreNewer
from bot.private_files import private_folder
from bot.settings import Settings, key_for_nothing, load_key, read_key
from bot.storage.database import Database
from bot.storage.encryption import Encryption
from bot.storage.key_proof import check_key

SERVER_AWAY = (
    "The database server (DAYRUNG_DATABASE) does not answer, or lets nobody in: start it, or put "
    "the address right. Until then warning signs get advice, and nothing is kept."
)


@dataclass(frozen=True, slots=True)
class StorePlace:
    """What is there.

    Attributes:
        key: the keys, the newest first and a line each; ``None`` when there is none, or none that
            can be got.
        missing: one sentence about what is not there or does not fit, and what to do; "" when work
            can begin.
    """

    key: bytes | None
    missing: str


@dataclass(frozen=True, slots=True)
class Made:
    """What has been made just now."""

    key: bool
    store: bool


def look_at(settings: Settings) -> StorePlace:
    """Look for the store and the key, and hold one against the other; makes nothing.

    Raises:
        SettingsError: the address of the database is wrong.
    """
    try:
        has_store = _has_store(settings)
    except StoreError:
        return StorePlace(None, SERVER_AWAY)
    try:
        key = read_key(settings)
    except SettingsError as error:
        return StorePlace(None, str(error))
    missing = _missing(settings, has_key=key is not None, has_store=has_store)
    return StorePlace(key, missing or _unfit(settings, key or b""))


def make(settings: Settings) -> Made:
    """Make what is missing: the key, then the store.

    Raises:
        SettingsError: the store is there without its key, or was sealed with another one.
        StoreError: no store can be made there.
    """
    before = look_at(settings)
    if before.missing == SERVER_AWAY:
        raise SettingsError(before.missing)
    has_store = _has_store(settings)
    if has_store and before.missing:
        raise SettingsError(before.missing)
    key, made_key = load_key(settings)
    try:
        private_folder(settings.home)
    except OSError as error:
        raise SettingsError(
            f"The data folder {settings.home} (DAYRUNG_HOME) cannot be used: {error}."
        ) from None
    database = Database(settings.database_address, Encryption(key))
    try:
        database.migrate()
    finally:
        database.close()
    return Made(key=made_key, store=not has_store)


def _has_store(settings: Settings) -> bool:
    """Whether there is a store, if only a file that cannot be used now.

    Raises:
        StoreError: a server does not answer, or lets nobody in.
    """
    database = Database(settings.database_address, Encryption(key_for_nothing()))
    try:
        return database.is_made()
    except StoreError:
        if not database.is_file:
            raise
        # The start says what is wrong with it.
        return True
    finally:
        database.close()


def _unfit(settings: Settings, key: bytes) -> str:
    """Why this key or this program cannot be used on the store, or "".

    A store that cannot be read now may fit: its start says what is wrong.
    """
    database = Database(settings.database_address, Encryption(key))
    try:
        database.is_current()
        database.read_now(check_key)
    except (SettingsError, StoreNewer) as error:
        sentence = str(error).removesuffix(".")
        return f"{sentence[0].upper()}{sentence[1:]}."
    except StoreError:
        return ""
    finally:
        database.close()
    return ""


def _missing(settings: Settings, *, has_key: bool, has_store: bool) -> str:
    if has_key and has_store:
        return ""
    # An address may hold a password; a file's is made of the data folder.
    store = "DAYRUNG_DATABASE" if settings.database else str(settings.home)
    if has_store:
        return (
            f"There is a store ({store}) without its key: bring the key back (DAYRUNG_KEY, or the "
            f"file {settings.key_file}); without it the records cannot be read."
        )
    if has_key:
        return (
            f"There is a key but no store ({store}): bring the store back from a backup, or run "
            "dayrung init for a new practice."
        )
    return (
        f"There is no store and no key ({store}): run dayrung init for a new practice, or bring a "
        "backup back."
    )
