"""A store and its key: looked for without making anything, made by one command alone."""

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from cryptography.fernet import Fernet
from sqlmodel import select

from bot.errors import SettingsError, StoreError, StoreMissing
from bot.runtime.place import SERVER_AWAY, look_at, make
from bot.settings import Settings
from bot.storage.database import Database
from bot.storage.encryption import Encryption
from bot.storage.tables import PersonRow
from tests.doubles.store import KEY, store_at


def _settings(home: Path, key: str = "") -> Settings:
    return Settings(_env_file=None, home=home, key=key, database="")  # type: ignore[call-arg]


def _store(home: Path) -> None:
    home.mkdir(exist_ok=True)
    store_at(home / "dayrung.sqlite3").close()


def test_an_empty_place_lacks_both_and_stays_empty(tmp_path: Path) -> None:
    place = look_at(_settings(tmp_path / "home"))

    assert place.key is None
    assert place.missing.startswith("There is no store and no key (")
    assert "dayrung init" in place.missing
    assert list(tmp_path.iterdir()) == []


def test_a_store_without_its_key_is_said_and_gets_no_new_key(tmp_path: Path) -> None:
    _store(tmp_path)

    place = look_at(_settings(tmp_path))

    assert "without its key" in place.missing
    with pytest.raises(SettingsError, match="without its key"):
        make(_settings(tmp_path))
    assert not (tmp_path / "key").exists()


@pytest.mark.parametrize("content", [None, b""])
def test_a_key_without_its_store_is_said(tmp_path: Path, content: bytes | None) -> None:
    (tmp_path / "key").write_bytes(KEY)
    if content is not None:
        (tmp_path / "dayrung.sqlite3").write_bytes(content)

    place = look_at(_settings(tmp_path))

    assert place.key == KEY
    assert "a key but no store" in place.missing


def test_a_store_that_cannot_be_read_is_not_taken_for_none(tmp_path: Path) -> None:
    (tmp_path / "dayrung.sqlite3").write_bytes(b"\0" * 100_000)

    assert look_at(_settings(tmp_path, KEY.decode())).missing == ""


def test_a_postgresql_that_does_not_answer_is_not_taken_for_an_empty_one(tmp_path: Path) -> None:
    address = f"postgresql+psycopg://dayrung@/dayrung?host={tmp_path}"
    settings = Settings(_env_file=None, home=tmp_path, key=KEY.decode(), database=address)  # type: ignore[call-arg]

    assert look_at(settings).missing == SERVER_AWAY


def _newer(home: Path) -> None:
    with closing(sqlite3.connect(home / "dayrung.sqlite3")) as store:
        store.execute("UPDATE alembic_version SET version_num = '9999'")
        store.commit()


@pytest.mark.parametrize(
    ("more", "sentence"),
    [
        ({"key": Fernet.generate_key().decode()}, "The key is not the one that the records were"),
        ({"key": "no key"}, "DAYRUNG_KEY does not hold a key of the right form"),
        ({"key_command": "false"}, "The command DAYRUNG_KEY_COMMAND gives no key"),
        ({"key_command": "printf 'half a k\\n'"}, "does not hold a key of the right form"),
        ({"key_command": "printf '\\377\\000'"}, "The command DAYRUNG_KEY_COMMAND gives no key"),
        ({"key_path": "/"}, "The key file / or the data folder"),
    ],
)
def test_a_key_that_does_not_fit_or_cannot_be_got_is_one_sentence(
    tmp_path: Path, more: dict[str, str], sentence: str
) -> None:
    _store(tmp_path)

    place = look_at(_settings(tmp_path).model_copy(update=more))

    assert sentence in place.missing
    assert place.missing.endswith(".")
    assert "\n" not in place.missing


def test_a_store_of_a_newer_program_is_one_sentence(tmp_path: Path) -> None:
    _store(tmp_path)
    _newer(tmp_path)

    missing = look_at(_settings(tmp_path, KEY.decode())).missing

    assert missing.startswith("The database belongs to a newer Dayrung")


def test_init_makes_both_once_and_the_store_belongs_to_the_key(tmp_path: Path) -> None:
    settings = _settings(tmp_path / "home")

    first, again = make(settings), make(settings)

    assert (first.key, first.store) == (True, True)
    assert (again.key, again.store) == (False, False)
    assert look_at(settings).missing == ""
    with pytest.raises(SettingsError, match="not the one"):
        make(_settings(settings.home, Fernet.generate_key().decode()))


def test_opening_a_missing_store_makes_no_file(tmp_path: Path) -> None:
    path = tmp_path / "dayrung.sqlite3"
    database = Database(f"sqlite:///{path}", Encryption(KEY))

    with pytest.raises(StoreMissing):
        database.upgrade()
    with pytest.raises(StoreError, match="unable to open"):
        database.run_now(lambda unit: unit.session.exec(select(PersonRow)).all())
    assert not path.exists()

    path.touch()
    with pytest.raises(StoreMissing):
        database.upgrade()
    database.close()
    assert path.read_bytes() == b""
