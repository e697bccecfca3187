"""What an operator copies from ``deploy`` fits the program."""

import os
import re
import sqlite3
import subprocess
import sys
from pathlib import Path

from sqlmodel import select

from bot.settings import Settings
from bot.storage.tables import PersonRow
from tests.doubles.store import KEY
from tests.doubles.telegram_practice import make_practice, open_store

DEPLOY = Path(__file__).parents[2] / "deploy"


def run(script: str, *given: Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        ["sh", DEPLOY / script, *given],
        capture_output=True,
        text=True,
        check=False,
        env={**os.environ, "DAYRUNG_PYTHON": sys.executable},
    )


def test_the_example_names_every_setting_and_no_other() -> None:
    example = (DEPLOY / "env.example").read_text("utf-8")

    named = set(re.findall(r"^DAYRUNG_(\w+)=", example, re.MULTILINE))

    assert named == {name.upper() for name in Settings.model_fields}


def test_the_example_states_the_defaults() -> None:
    example = (DEPLOY / "env.example").read_text("utf-8")
    stated = dict(re.findall(r"^DAYRUNG_(\w+)=(.*)$", example, re.MULTILINE))

    for name, field in Settings.model_fields.items():
        if name == "home":
            continue
        default = field.default
        written = f"{default:g}" if isinstance(default, float) else str(default)
        assert stated[name.upper()] == written, name


def test_a_backup_beside_a_writer_is_whole_and_comes_back_with_its_key(tmp_path: Path) -> None:
    home, back, backup = tmp_path / "home", tmp_path / "back", tmp_path / "backup.tar.gz"
    make_practice(home, clients=3)
    (home / "key").write_bytes(KEY)
    writer = sqlite3.connect(home / "dayrung.sqlite3")
    writer.execute("BEGIN IMMEDIATE")
    writer.execute("UPDATE person SET country = 'XX'")

    assert run("backup.sh", home, backup).returncode == 0
    writer.rollback()
    writer.close()
    assert run("restore.sh", backup, back).returncode == 0

    assert (back / "key").read_bytes() == KEY
    store = open_store(back)
    names = store.run_now(
        lambda unit: [
            (unit.encryption.decrypt(row.name_sealed), row.country)
            for row in unit.session.exec(select(PersonRow))
        ]
    )
    store.close()
    assert len(names) == 4
    assert ("Mary 5001", "NZ") in names
    assert backup.stat().st_mode & 0o077 == 0


def test_a_backup_is_never_restored_over_a_store(tmp_path: Path) -> None:
    home, backup = tmp_path / "home", tmp_path / "backup.tar.gz"
    make_practice(home, clients=1)
    assert run("backup.sh", home, backup).returncode == 0

    refused = run("restore.sh", backup, home)

    assert refused.returncode == 1
    assert "already" in refused.stderr


def test_the_unit_serves_with_a_watchdog_and_is_always_started_again() -> None:
    unit = (DEPLOY / "dayrung.service").read_text("utf-8")

    assert re.search(r"^ExecStart=.*dayrung serve$", unit, re.MULTILINE)
    for line in ("Type=notify", "Restart=always"):
        assert line in unit.splitlines()
    assert re.search(r"^WatchdogSec=\d+$", unit, re.MULTILINE)
    stop = re.search(r"^TimeoutStopSec=(\d+)$", unit, re.MULTILINE)
    assert stop is not None
    assert int(stop.group(1)) > 10
