"""``dayrung key``: another key for the records, while the service runs."""

from collections.abc import Sequence
from datetime import datetime

from rich.console import Console
from rich.progress import Progress

from bot.errors import SettingsError
from bot.runtime.place import look_at
from bot.settings import Settings, new_key, write_keys
from bot.storage.database import Database
from bot.storage.encryption import Encryption
from bot.storage.key_change import count_rows, note_change, older_key_needed, seal_anew
from bot.storage.key_proof import check_key, prove_newest

NOT_CURRENT = "The store is older. Start the service once, then try again."


class KeyCommand:
    """Changes the key of one practice."""

    def __init__(self, settings: Settings, console: Console) -> None:
        """Nothing is read yet."""
        self._settings = settings
        self._console = console

    def change(self, now: datetime) -> None:
        """Seal everything with a new key; a change that was stopped goes on.

        Raises:
            SettingsError: the key does not fit the store, or a new one must be given first.
            StoreError: the store cannot be used now.
        """
        database = self._opened()
        try:
            if len(database.encryption.names) == 1:
                self._take_new_key()
                database.close()
                database = self._opened()
            self._seal(database, now)
        finally:
            database.close()

    def forget(self, now: datetime) -> None:
        """Take older keys out of the key file, once nothing needs them.

        Raises:
            SettingsError: they are needed still, or stand in no file of ours.
            StoreError: the store cannot be used now.
        """
        database = self._opened()
        try:
            if len(database.encryption.names) == 1:
                self._say("There is no older key.")
                return
            needed = database.run_now(older_key_needed, now)
            if needed:
                raise SettingsError(f"The older key is needed still: {needed}.")
            # Whatever was written while the key was changed.
            while seal_anew(database.run_now, lambda _rows: None):
                pass
        finally:
            database.close()
        if self._settings.followed_key_file is None:
            self._say("Nothing needs the older key any more. Take it out of the setting.")
            return
        write_keys(self._settings.key_file, self._keys()[:1])
        self._say(f"The older key is gone from {self._settings.key_file}.")

    def _opened(self) -> Database:
        keys = "\n".join(self._keys()).encode("ascii")
        encryption = Encryption(keys, self._settings.followed_key_file)
        database = Database(self._settings.database_address, encryption)
        try:
            if not database.is_current():
                raise SettingsError(NOT_CURRENT)
            database.run_now(check_key)
        except BaseException:
            database.close()
            raise
        return database

    def _keys(self) -> Sequence[str]:
        place = look_at(self._settings)
        if place.key is None or place.missing:
            raise SettingsError(place.missing)
        return place.key.decode("ascii").split()

    def _take_new_key(self) -> None:
        path = self._settings.followed_key_file
        if path is None:
            raise SettingsError(
                "Put a new key before the one you have (with a comma between in DAYRUNG_KEY, or as "
                "the first line of what the command prints), restart the service, then run this "
                "again."
            )
        write_keys(path, [new_key(), *self._keys()])
        self._say(f"A new key is the first line of {path}. Back it up now, with the older one.")

    def _seal(self, database: Database, now: datetime) -> None:
        name = database.encryption.name
        database.run_now(prove_newest)
        with Progress(console=self._console) as progress:
            task = progress.add_task(f"sealing with key {name}", total=database.run_now(count_rows))
            # Again, as long as the service has written something with the older key.
            while seal_anew(database.run_now, lambda rows: progress.advance(task, rows)):
                progress.update(task, completed=0, total=database.run_now(count_rows))
        database.run_now(note_change, now)
        self._say(f"All words and answers are sealed with key {name}.")
        needed = database.run_now(older_key_needed, now)
        then = "Then run dayrung key forget."
        self._say(f"The older key stays until: {needed}. {then}" if needed else then)

    def _say(self, text: str) -> None:
        self._console.print(text, highlight=False, soft_wrap=True)
