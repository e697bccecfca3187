"""What the operator can set: the only place that reads the environment."""

import os
from pathlib import Path

from cryptography.fernet import Fernet
from platformdirs import user_data_path
from pydantic import Field, ValidationError
from pydantic_settings import BaseSettings, SettingsConfigDict

from bot.errors import SettingsError


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
        description="Encryption key (Fernet); empty means the key file in the home folder.",
        repr=False,
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
        default=30.0, gt=0, description="Messages a second over all chats."
    )
    seconds_between_sends: float = Field(
        default=1.0, ge=0, description="Pause between ordinary messages to one chat."
    )
    second_road: str = Field(
        default="",
        description="Apprise addresses (e-mail, SMS gateway), comma separated, for unseen alerts.",
        repr=False,
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
        parts = [token, token.partition(":")[2], self.telegram_secret, self.key]
        if "@" in self.database:
            parts.append(self.database)
        return [part for part in (*parts, *self.second_routes) if part]

    @property
    def key_file(self) -> Path:
        """Where the key is kept when no key is set."""
        return self.home / "key"


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


def load_key(settings: Settings) -> tuple[bytes, bool]:
    """The encryption key, and whether a key file was made just now.

    A new key file has mode 600 and must be backed up: without it the records cannot be read.

    Raises:
        SettingsError: the key has the wrong form, or the home folder cannot be used.
    """
    made = False
    key = settings.key.strip()
    if not key:
        try:
            settings.home.mkdir(parents=True, exist_ok=True)
            made = _make_key_file(settings.key_file)
            key = settings.key_file.read_text(encoding="ascii").strip()
        except (OSError, UnicodeError) as error:
            raise SettingsError(
                f"The data folder {settings.home} (DAYRUNG_HOME) cannot be used: {error}."
            ) from None
    try:
        Fernet(key)
    except ValueError:
        where = "DAYRUNG_KEY" if settings.key else f"The key file {settings.key_file}"
        raise SettingsError(
            f"{where} does not hold a key of the right form (32 bytes in url-safe base64)."
        ) from None
    return key.encode("ascii"), made


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
