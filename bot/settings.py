"""What the operator can set: the only place that reads the environment."""

import contextlib
import os
import re
import shlex
import signal
import subprocess
import threading
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Literal

from cryptography.fernet import Fernet
from platformdirs import user_data_path
from pydantic import Field, ValidationError
from pydantic_settings import BaseSettings, SettingsConfigDict

from bot.errors import SettingsError
from bot.private_files import private_folder, read_small

ENV_LINE = re.compile(r"^\s*(?:export\s+)?(DAYRUNG_\w*)\s*=", re.MULTILINE | re.IGNORECASE)
"""A setting's name in a ``.env`` file."""


class Settings(BaseSettings):
    """All settings, from ``DAYRUNG_*`` in the environment or a ``.env`` file."""

    model_config = SettingsConfigDict(env_prefix="DAYRUNG_", env_file=".env", extra="ignore")

    home: Path = Field(
        default_factory=lambda: user_data_path("dayrung", appauthor=False),
        description="Folder for the database, the key file and pictures.",
    )
    database: str = Field(
        default="",
        description="Database address; empty means an SQLite file in the home folder.",
        repr=False,
    )
    key: str = Field(
        default="",
        description="Encryption key (Fernet), or several, the newest first, with commas between; "
        "empty means the command or the file below.",
        repr=False,
    )
    key_command: str = Field(
        default="",
        description="Command that prints the key, such as that of a vault's client.",
        repr=False,
    )
    key_path: str = Field(
        default="",
        description="File that holds the key; empty means the systemd credential dayrung.key where "
        "there is one, else the file key in the home folder.",
    )
    telegram_token: str = Field(default="", description="The Telegram bot's token.", repr=False)
    telegram_api: str = Field(
        default="https://api.telegram.org",
        description="Telegram Bot API server; /bot<token> is added.",
    )
    telegram_webhook: str = Field(
        default="",
        description="Public https address for a webhook; empty means long polling.",
    )
    telegram_secret: str = Field(
        default="",
        description="Secret that Telegram must send with each webhook call.",
        repr=False,
    )
    host: str = Field(default="127.0.0.1", description="Address that the web server listens on.")
    port: int = Field(default=8765, ge=0, le=65535, description="Port of the web server.")
    sends_per_second: float = Field(
        default=30.0,
        ge=0.1,
        le=1_000_000,
        allow_inf_nan=False,
        description="Messages a second over all chats.",
    )
    seconds_between_sends: float = Field(
        default=1.0,
        ge=0,
        le=60,
        allow_inf_nan=False,
        description="Pause between ordinary messages to one chat.",
    )
    second_road: str = Field(
        default="",
        description="Apprise addresses (e-mail, SMS gateway), comma separated, for unseen alerts.",
        repr=False,
    )
    metrics_token: str = Field(
        default="",
        description="Secret that a monitor shows at /metrics; empty means that there is none.",
        repr=False,
    )
    log_form: Literal["text", "json"] = Field(
        default="text", description="Log lines for people, or one JSON object a line."
    )
    heartbeat: str = Field(
        default="", description="Address to call every minute, for an outside monitor."
    )

    @property
    def database_address(self) -> str:
        """The database as SQLAlchemy names it."""
        return self.database or f"sqlite:///{self.home / 'dayrung.sqlite3'}"

    @property
    def second_routes(self) -> list[str]:
        """The addresses for alerts that nobody has seen, one by one."""
        return [address.strip() for address in self.second_road.split(",") if address.strip()]

    @property
    def confidential(self) -> list[str]:
        """What must stand in no log: the secrets, and the telling parts of them."""
        token = self.telegram_token
        parts = [token, token.partition(":")[2], self.telegram_secret, *self.key.split(",")]
        parts.append(self.metrics_token)
        parts.append(self.key_command)
        if "@" in self.database:
            parts.append(self.database)
        return [part for part in (*parts, *self.second_routes) if part]

    @property
    def key_file(self) -> Path:
        """Where the key is kept when no key is set."""
        if self.key_path:
            return Path(self.key_path)
        credential = Path(os.environ.get("CREDENTIALS_DIRECTORY", "")) / CREDENTIAL
        given = "CREDENTIALS_DIRECTORY" in os.environ and credential.is_file()
        return credential if given else self.home / "key"

    @property
    def followed_key_file(self) -> Path | None:
        """The file of keys that a running service looks at again; None where there is none."""
        return None if self.key.strip() or self.key_command else self.key_file


CREDENTIAL = "dayrung.key"
"""What systemd's LoadCredential= must call the key."""

MOST_KEY_BYTES = 16_384
"""Some hundred keys. What is longer, or has no end, is no key."""

COMMAND_WITHIN = 8.0
"""Seconds in which a command must have printed the key. The service asks again and again, and a
stop must not wait longer for it."""


def load_settings() -> Settings:
    """Read the settings.

    Raises:
        SettingsError: a setting has a wrong value; one sentence names it.
    """
    try:
        return Settings()
    except ValidationError as error:
        first = error.errors(include_url=False, include_input=False)[0]
        name = "DAYRUNG_" + "_".join(str(part) for part in first["loc"]).upper()
        raise SettingsError(f"The setting {name} is wrong: {first['msg']}.") from None


def unknown_settings() -> list[str]:
    """Names in the environment and in a ``.env`` file that look like settings and are none."""
    known = {f"DAYRUNG_{name}".upper() for name in Settings.model_fields} | {"DAYRUNG_PYTHON"}
    named = [name for name in os.environ if name.upper().startswith("DAYRUNG_")]
    with contextlib.suppress(OSError, UnicodeError):
        named += ENV_LINE.findall(Path(".env").read_text(encoding="utf-8"))
    return sorted({name for name in named if name.upper() not in known})


def load_key(settings: Settings) -> tuple[bytes, bool]:
    """The encryption keys, the newest first and a line each, and whether a file was made just now.

    A new key file has mode 600 and must be backed up: without it the records cannot be read.

    Raises:
        SettingsError: a key has the wrong form, or it cannot be got.
    """
    made = False
    kept = settings.followed_key_file
    if kept is not None and kept == settings.home / "key":
        try:
            private_folder(settings.home)
            made = _make_key_file(kept)
        except OSError as error:
            raise _key_is_bad(settings, error) from None
    key = read_key(settings)
    if key is None:
        raise SettingsError(f"There is no key file {settings.key_file}.")
    return key, made


def read_key(settings: Settings) -> bytes | None:
    """The keys as :func:`load_key` gives them; ``None`` when there is none. Makes nothing.

    Raises:
        SettingsError: a key has the wrong form, or it cannot be got.
    """
    if settings.key.strip():
        where, text = "DAYRUNG_KEY", settings.key
    elif settings.key_command:
        where, text = "The command DAYRUNG_KEY_COMMAND", _told_by_command(settings.key_command)
    else:
        where = f"The key file {settings.key_file}"
        try:
            text = read_small(settings.key_file, MOST_KEY_BYTES).decode("ascii")
        except FileNotFoundError:
            return None
        except (OSError, ValueError) as error:
            raise _key_is_bad(settings, error) from None
    keys = text.replace(",", " ").split()
    try:
        for key in keys:
            Fernet(key)
    except ValueError:
        keys = []
    if not keys:
        raise SettingsError(
            f"{where} does not hold a key of the right form (32 bytes in url-safe base64)."
        )
    return "\n".join(keys).encode("ascii")


def _told_by_command(command: str) -> str:
    """What a command prints.

    Raises:
        SettingsError: it fails; what it says may be part of a secret, and is not shown.
    """
    try:
        return _printed(shlex.split(command)).decode("ascii")
    except (OSError, ValueError, subprocess.SubprocessError) as error:
        raise SettingsError(
            f"The command DAYRUNG_KEY_COMMAND gives no key ({type(error).__name__})."
        ) from None


def _printed(command: Sequence[str]) -> bytes:
    """What a command prints, no more than keys are long.

    Raises:
        OSError: it cannot be started.
        ValueError: it prints more.
        subprocess.SubprocessError: it fails, or takes too long.
    """
    with subprocess.Popen(  # noqa: S603 - the operator's own command, without a shell
        command,
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        # Whatever it has started ends with it.
        start_new_session=True,
    ) as process:
        late = threading.Event()

        def end() -> None:
            with contextlib.suppress(OSError):
                os.killpg(process.pid, signal.SIGKILL)

        def end_late() -> None:
            late.set()
            end()

        ending = threading.Timer(COMMAND_WITHIN, end_late)
        ending.start()
        try:
            printed = b"" if process.stdout is None else process.stdout.read(MOST_KEY_BYTES + 1)
            if len(printed) > MOST_KEY_BYTES:
                raise ValueError("it prints more than keys")
            code = process.wait()
        finally:
            ending.cancel()
            end()
    if late.is_set():
        raise subprocess.TimeoutExpired(command[0], COMMAND_WITHIN)
    if code:
        raise subprocess.CalledProcessError(code, command[0])
    return printed


def key_for_nothing() -> bytes:
    """A key that is kept nowhere, for a program that seals nothing because it has no key."""
    return Fernet.generate_key()


def new_key() -> str:
    """A key that nobody has."""
    return Fernet.generate_key().decode("ascii")


def write_keys(path: Path, keys: Sequence[str]) -> None:
    """Put keys, the newest first, in the place of a key file, whole or not at all.

    The file stays its owner's, whoever does it: else the service could not read it any more. It
    stays where it is, too: a link to a file apart from the store is followed, not replaced.

    Raises:
        SettingsError: it cannot be written.
    """
    path = path.resolve()
    new = path.with_name(f"{path.name}.new")
    try:
        new.unlink(missing_ok=True)
        handle = os.open(new, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        with os.fdopen(handle, "wb") as file:
            before = path.stat() if path.exists() else path.parent.stat()
            os.fchown(handle, before.st_uid, before.st_gid)
            file.write("".join(f"{key}\n" for key in keys).encode("ascii"))
            file.flush()
            os.fsync(file.fileno())
        new.replace(path)
        folder = os.open(path.parent, os.O_RDONLY)
        try:
            os.fsync(folder)
        finally:
            os.close(folder)
    except OSError as error:
        raise SettingsError(f"The key file {path} cannot be written: {error}.") from None


def _key_is_bad(settings: Settings, error: Exception) -> SettingsError:
    return SettingsError(
        f"The key file {settings.key_file} or the data folder {settings.home} "
        f"(DAYRUNG_HOME) cannot be used: {error}."
    )


def _make_key_file(path: Path) -> bool:
    """Write a new key unless one is there; True when written."""
    try:
        handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    except FileExistsError:
        return False
    with os.fdopen(handle, "wb") as file:
        file.write(Fernet.generate_key() + b"\n")
        file.flush()
        os.fsync(file.fileno())
    return True


def watchdog_settings() -> tuple[str, float]:
    """The socket that systemd listens on ("" where there is none), and half its patience, s."""
    microseconds = os.environ.get("WATCHDOG_USEC", "")
    patience = int(microseconds) / 2e6 if microseconds.isdigit() else 0.0
    return os.environ.get("NOTIFY_SOCKET", ""), patience


def environment_with(more: Mapping[str, str]) -> Mapping[str, str]:
    """The environment for another program, with these variables beside our own."""
    return {**os.environ, **more}
