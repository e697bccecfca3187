"""What is kept of a parsed file counts only for the text that it was made of, and only whole."""

import marshal
import os
import sys
from pathlib import Path
from typing import Any

import pytest

from bot.reference import kept_files, parsed_files
from bot.reference.kept_files import FOLDER
from bot.reference.parsed_files import parsed

FIRST = "signs: [pain, faint]\nlevel: 2\n"
THEN = "signs: [pain, faint]\nlevel: 3\n"


@pytest.fixture
def shipped(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A file of the program's own, parsed once."""
    for module in (kept_files, parsed_files):
        monkeypatch.setattr(module, "SHIPPED", tmp_path)
    monkeypatch.setattr(sys, "dont_write_bytecode", False)
    file = tmp_path / "words.yaml"
    file.write_text(FIRST, encoding="utf-8")
    assert parsed(file) == {"signs": ["pain", "faint"], "level": 2}
    return file


def kept_of(file: Path) -> Path:
    """The one file that is kept for it."""
    (kept,) = (file.parent / FOLDER).iterdir()
    return kept


def never(*_given: object, **_named: object) -> Any:
    raise AssertionError("it was parsed again")


def test_the_second_time_nothing_is_parsed(shipped: Path, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr("yaml.load", never)
    assert parsed(shipped) == {"signs": ["pain", "faint"], "level": 2}


def test_what_two_callers_get_is_not_shared(shipped: Path):
    parsed(shipped)["signs"].append("fall")
    assert parsed(shipped)["signs"] == ["pain", "faint"]


def test_a_changed_text_counts_at_once_even_with_the_times_of_the_old(shipped: Path):
    """Ours: a rule about a warning sign must never be an older one, whatever the clock says."""
    times = shipped.stat()
    shipped.write_text(THEN, encoding="utf-8")
    os.utime(shipped, ns=(times.st_atime_ns, times.st_mtime_ns))
    assert parsed(shipped)["level"] == 3
    assert parsed(shipped)["level"] == 3


def test_another_version_of_the_library_parses_anew(shipped: Path, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(parsed_files, "_BY", "another")
    monkeypatch.setattr("yaml.load", lambda *_given, **_named: "anew")
    assert parsed(shipped) == "anew"


def damaged(kept: bytes) -> list[bytes]:
    """Cut short, empty, one bit of the values changed, and other values under the old digest."""
    turned = bytearray(kept)
    turned[-1] ^= 1
    return [kept[:-3], kept[:40], b"", bytes(turned), kept[:64] + marshal.dumps({"level": 0})]


@pytest.mark.parametrize("which", range(5))
def test_what_is_damaged_is_made_again(shipped: Path, which: int):
    kept = kept_of(shipped)
    whole = kept.read_bytes()
    kept.write_bytes(damaged(whole)[which])
    assert parsed(shipped) == {"signs": ["pain", "faint"], "level": 2}
    assert kept_of(shipped).read_bytes() == whole


def test_where_nothing_can_be_written_the_file_is_parsed(shipped: Path):
    kept = kept_of(shipped)
    kept.unlink()
    kept.parent.rmdir()
    kept.parent.write_text("no folder", encoding="utf-8")
    assert parsed(shipped)["level"] == 2


def test_a_value_that_is_not_plain_is_parsed_each_time(shipped: Path):
    shipped.write_text("day: 2026-01-05\n", encoding="utf-8")
    assert parsed(shipped) == parsed(shipped)


def test_nothing_is_kept_where_python_keeps_no_modules(
    shipped: Path, monkeypatch: pytest.MonkeyPatch
):
    kept_of(shipped).unlink()
    monkeypatch.setattr(sys, "dont_write_bytecode", True)
    parsed(shipped)
    assert not list((shipped.parent / FOLDER).iterdir())


def test_nothing_is_kept_beside_the_files_of_a_practice(tmp_path: Path):
    file = tmp_path / "own.yaml"
    file.write_text(FIRST, encoding="utf-8")
    assert parsed(file)["level"] == 2
    assert list(tmp_path.iterdir()) == [file]
