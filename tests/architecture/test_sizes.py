"""Modules stay small enough to be read at one go."""

from tests.architecture.code import ROOT

MOST_LINES = 350
DATA = ("bot/storage/migrations/versions/0001_the_first_tables.py",)
"""One list of columns, which reads no better in two files."""


def test_no_module_is_longer_than_350_lines():
    long = {}
    for folder in ("core", "bot"):
        for path in (ROOT / folder).rglob("*.py"):
            name = path.relative_to(ROOT).as_posix()
            lines = len(path.read_text(encoding="utf-8").splitlines())
            if lines > MOST_LINES and name not in DATA:
                long[name] = lines

    assert long == {}


def test_every_folder_of_tests_is_a_package():
    folders = {path.parent for path in (ROOT / "tests").rglob("*.py")}

    assert {one for one in folders if not (one / "__init__.py").exists()} == set()
