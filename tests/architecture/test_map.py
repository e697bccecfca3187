"""The map in DEVELOPERS.md and the page of each room say what is there, and all of it."""

import re
from pathlib import Path

import pytest

from tests.architecture.code import ROOT

GUIDE = ROOT / "DEVELOPERS.md"
MOST_BYTES = 14_000
MOST_MODULES = 25
HOUSES = ("core", "bot", "bot/flows")
"""Folders whose packages are rooms."""

ON_THE_MAP = re.compile(r"^((?:core|bot)/[\w/]*)(?= )", re.MULTILINE)
IN_A_LIST = re.compile(r"^\| `([^`]+)` \|", re.MULTILINE)


def _packages() -> frozenset[str]:
    """Every package folder, such as ``bot/flows/coach/alerts/``."""
    return frozenset(
        f"{path.parent.relative_to(ROOT).as_posix()}/"
        for house in ("core", "bot")
        for path in (ROOT / house).rglob("__init__.py")
    )


def _rooms() -> list[str]:
    """The packages that have a page, from the house down."""
    return sorted(
        one.rstrip("/") for one in _packages() if one.rstrip("/").rpartition("/")[0] in HOUSES
    )


def _map() -> frozenset[str]:
    text = GUIDE.read_text(encoding="utf-8")
    section = re.search(r"^## The map$(.*?)^## ", text, re.MULTILINE | re.DOTALL)
    assert section, "DEVELOPERS.md has no section called The map"
    return frozenset(ON_THE_MAP.findall(section[1]))


def _page(room: str) -> Path:
    return ROOT / room / "README.md"


def _listed(room: str) -> set[str]:
    """The files in the list of parts of a room's page, relative to the room."""
    text = _page(room).read_text(encoding="utf-8")
    section = re.search(r"^## Parts$(.*?)^## ", text, re.MULTILINE | re.DOTALL)
    assert section, f"{room}/README.md has no list of parts"
    return set(IN_A_LIST.findall(section[1]))


def _modules(room: str) -> set[str]:
    """The modules of a room, without those of rooms inside it and of migrations."""
    inside = tuple(f"{one}/" for one in _rooms() if one.startswith(f"{room}/"))
    return {
        path.relative_to(ROOT / room).as_posix()
        for path in (ROOT / room).rglob("*.py")
        if path.name != "__init__.py"
        and "migrations" not in path.parts
        and not path.relative_to(ROOT).as_posix().startswith(inside)
    }


def test_every_package_is_on_the_map_and_the_map_names_no_other():
    assert _map() == _packages()


def test_the_guide_can_be_read_at_one_go():
    assert len(GUIDE.read_bytes()) <= MOST_BYTES


@pytest.mark.parametrize("room", _rooms())
def test_a_room_has_a_page_that_says_what_it_never_does(room: str):
    assert _page(room).is_file()
    assert re.search(r"^## Never$", _page(room).read_text(encoding="utf-8"), re.MULTILINE)


@pytest.mark.parametrize("room", _rooms())
def test_every_module_of_a_room_is_on_its_page(room: str):
    assert _modules(room) - _listed(room) == set()


@pytest.mark.parametrize("room", _rooms())
def test_every_file_on_a_page_is_there(room: str):
    missing = {one for one in _listed(room) if not list((ROOT / room).glob(one))}

    assert missing == set()


def test_no_folder_has_more_modules_than_can_be_looked_over():
    crowded = {}
    for folder in sorted(_packages()):
        found = [one for one in (ROOT / folder).glob("*.py") if one.name != "__init__.py"]
        if len(found) > MOST_MODULES:
            crowded[folder] = len(found)

    assert crowded == {}
