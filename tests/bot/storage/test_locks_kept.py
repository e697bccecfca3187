"""What a service holds on its files stays held while other programs come and go.

POSIX lets go of all locks of a program on a file when it closes any handle of that file (SQLite,
"How To Corrupt An SQLite Database File", 2.2); then another program deletes the log that is in use.
"""

import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from sqlalchemy import text

from bot.errors import SettingsError
from bot.storage.database import READS, Database
from bot.storage.server.single_instance import held

LOOK = """
import sqlite3, sys
store = sqlite3.connect(sys.argv[1])
print(store.execute("SELECT count(*) FROM round").fetchone()[0])
store.close()
"""

LOCK = """
import sqlite3, sys
try:
    sqlite3.connect(sys.argv[1], timeout=0, isolation_level=None).execute("BEGIN EXCLUSIVE")
except sqlite3.OperationalError as error:
    print(error)
"""


def _another_program(code: str, file: Path) -> str:
    done = subprocess.run(
        [sys.executable, "-c", code, file], capture_output=True, text=True, check=True
    )
    return done.stdout.strip()


def _keep(store: Database, name: str) -> None:
    store.run_now(
        lambda unit: (
            unit.session.execute(
                text("INSERT INTO round (name, handled_until) VALUES (:name, '2026-03-02')"),
                {"name": name},
            )
            and unit.commit()
        )
    )


@pytest.mark.parametrize("store", ["sqlite"], indirect=True)
def test_what_is_kept_after_a_command_came_and_went_is_in_the_store(store: Database) -> None:
    file = Path(str(store.engine.url.database))
    _keep(store, "before")
    readers = store.engine.execution_options(**{READS: True})
    with readers.connect() as reading, ThreadPoolExecutor(1) as other:
        reading.execute(text("SELECT 1"))
        reading.rollback()
        # Another thread opens a connection of its own.
        other.submit(store.read_now, lambda unit: unit.session.execute(text("SELECT 1"))).result()
        assert _another_program(LOOK, file) == "1"

        _keep(store, "confirmed")

        assert _another_program(LOOK, file) == "2"


def test_a_hold_stays_though_it_is_asked_for_again(tmp_path: Path) -> None:
    place = tmp_path / "dayrung.serving"
    first = held(place)
    with pytest.raises(SettingsError, match="Another dayrung serve"):
        held(place)

    assert "locked" in _another_program(LOCK, place)
    first.close()
    assert _another_program(LOCK, place) == ""
