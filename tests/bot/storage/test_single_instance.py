"""Two services never work on one data folder or one database at the same time."""

from pathlib import Path

import pytest

from bot.errors import SettingsError
from bot.storage.database import Database
from bot.storage.encryption import Encryption
from bot.storage.server.single_instance import SingleInstance, Whose
from tests.doubles.store import KEY


def _database(path: Path) -> Database:
    return Database(f"sqlite:///{path}", Encryption(KEY))


def test_a_second_service_on_a_folder_is_told_so_and_takes_over_when_the_first_has_ended(
    tmp_path: Path,
):
    database = _database(tmp_path / "dayrung.sqlite3")
    first, second = SingleInstance(tmp_path, database), SingleInstance(tmp_path, database)
    first.lock_files()

    with pytest.raises(SettingsError, match=r"^Another dayrung serve is running on .*[.]$"):
        second.lock_files()
    second.release()

    first.release()
    second.lock_files()
    second.release()
    database.close()


def test_one_store_is_not_served_from_two_folders(tmp_path: Path):
    database = _database(tmp_path / "shared.sqlite3")
    first, second = (
        SingleInstance(tmp_path / "a", database),
        SingleInstance(tmp_path / "b", database),
    )
    first.lock_files()

    with pytest.raises(SettingsError, match="Another dayrung serve is running"):
        second.lock_files()
    # What it had taken before is free again.
    second.release()
    third = SingleInstance(tmp_path / "b", _database(tmp_path / "another.sqlite3"))
    third.lock_files()

    third.release()
    first.release()
    database.close()


def test_a_folder_that_cannot_be_used_is_named(tmp_path: Path):
    (tmp_path / "file").write_text("", encoding="ascii")
    database = _database(tmp_path / "dayrung.sqlite3")

    with pytest.raises(SettingsError, match=r"DAYRUNG_HOME.* cannot be used"):
        SingleInstance(tmp_path / "file" / "home", database).lock_files()

    database.close()


def test_a_store_in_a_file_needs_no_further_right(tmp_path: Path):
    database = _database(tmp_path / "dayrung.sqlite3")
    single_instance = SingleInstance(tmp_path, database)

    assert single_instance.lock_database()
    assert single_instance.look() is Whose.OURS

    single_instance.release()
    database.close()
