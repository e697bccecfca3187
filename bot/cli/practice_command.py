"""``dayrung practice add``: one more practice on this machine, ready to be started.

Each has a folder, a key, a store and a file of settings of its own. Where ``DAYRUNG_DATABASE``
names a PostgreSQL database, its store is a schema in that, which its own user alone may use.
"""

import contextlib
import os
import re
import shutil
from dataclasses import dataclass
from pathlib import Path

from bot.errors import BotError, SettingsError
from bot.private_files import private_folder
from bot.runtime.listening import PortTaken, listen
from bot.runtime.place import make
from bot.settings import Settings
from bot.storage.server.practices import add_schema, check_name, drop_schema

FIRST_PORT, LAST_PORT = 8765, 65_535
ONLY_ONE = "env"
"""The file of settings where a machine has one practice."""

PORT = re.compile(r"^DAYRUNG_PORT=(\d+)\s*$", re.MULTILINE)


@dataclass(frozen=True, slots=True)
class PracticeAdded:
    """Where things of a new practice are."""

    home: Path
    settings_file: Path
    port: int


def add_practice(
    name: str, token: str, common: Settings, homes: Path, files: Path
) -> PracticeAdded:
    """Make a practice; where something fails, what was made goes again.

    Args:
        token: of its bot; "" when it is still to be written into the file.
        common: the settings of this command; their database is where the schema is made.
        homes: the folder in which the practice's own is made.
        files: the folder of the files of settings, ``NAME.env``.

    Raises:
        SettingsError: the name cannot be used, there is such a practice, or a folder cannot be
            used.
        StoreError: the database cannot be used.
    """
    check_name(name)
    home, file = homes / name, files / f"{name}.env"
    for place in (home, file):
        if place.exists():
            raise SettingsError(f"There is a practice {name} already: {place} is there.")
    on_server = bool(common.database) and not common.database.startswith("sqlite")
    address = add_schema(common.database, name) if on_server else ""
    try:
        port = _free_port(files, common.host)
        # The key is the new practice's own, wherever this command has one from.
        settings = common.model_copy(
            update={"home": home, "database": address, "key": "", "key_command": "", "key_path": ""}
        )
        make(settings)
        _write(file, _lines(settings, token, port))
    except (BotError, OSError) as error:
        # It was not there before: nobody has put anything into it.
        shutil.rmtree(home, ignore_errors=True)
        if on_server:
            with contextlib.suppress(BotError):
                drop_schema(common.database, name)
        if isinstance(error, OSError):
            raise SettingsError(f"The file {file} cannot be written: {error.strerror}.") from None
        raise
    return PracticeAdded(home, file, port)


def _lines(settings: Settings, token: str, port: int) -> str:
    return (
        f"DAYRUNG_HOME={settings.home}\n"
        f"DAYRUNG_DATABASE={settings.database}\n"
        f"DAYRUNG_TELEGRAM_TOKEN={token}\n"
        f"DAYRUNG_TELEGRAM_API={settings.telegram_api}\n"
        f"DAYRUNG_HOST={settings.host}\n"
        f"DAYRUNG_PORT={port}\n"
    )


def _free_port(files: Path, host: str) -> int:
    """The first port behind those that practices here have, on which nobody listens.

    Raises:
        SettingsError: there is none.
    """
    taken = [FIRST_PORT - 1]
    for file in (files / ONLY_ONE, *files.glob("*.env")):
        if file.is_file():
            taken += [int(port) for port in PORT.findall(file.read_text("utf-8"))]
    for port in range(max(taken) + 1, LAST_PORT + 1):
        try:
            listen(host, port).close()
        except PortTaken:
            continue
        return port
    raise SettingsError(f"There is no free port behind {max(taken)}.")


def _write(file: Path, text: str) -> None:
    private_folder(file.parent)
    handle = os.open(file, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(handle, "w", encoding="utf-8") as opened:
        opened.write(text)
