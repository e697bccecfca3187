"""All files are for the service's own user, whatever the umask."""

import os
from collections.abc import Iterator
from pathlib import Path

import pytest

from bot.messages import Incoming, IncomingKind
from bot.private_files import private_file, private_folder
from tests.scenarios.conftest import MONDAY_EVENING
from tests.support.practice import practice


@pytest.fixture(autouse=True)
def _anybody_may_read() -> Iterator[None]:
    before = os.umask(0)
    yield
    os.umask(before)


def modes(folder: Path) -> dict[str, str]:
    """Every file and folder that others may use at all."""
    found = [folder, *folder.rglob("*")]
    open_ones = [one for one in found if one.stat().st_mode & 0o077]
    return {str(one.relative_to(folder)): oct(one.stat().st_mode) for one in open_ones}


async def test_a_practice_leaves_nothing_that_others_can_read(tmp_path: Path):
    home = tmp_path / "var" / "dayrung"
    async with practice(home, MONDAY_EVENING) as village:
        await village.coach("Rua")
        await village.client("Mary")
        await village.at("07:00")
        await village.good_morning()
        await village.says("mary", "/today")
        spool = village.app.spool
        now = village.clock.now()
        spool.set_aside(Incoming("record", "mary", "a", IncomingKind.TEXT, "hm", "", "", now))
        await village.says("mary", "/mydata")
        await village.taps("mary", "Leave and erase", "Yes")
        village.app.pictures.chart("climb", {"title": "Mary climbs"})
        kinds = {path.name for path in home.iterdir()}

        assert {"dayrung.sqlite3", "dayrung.sqlite3-wal", "key", "pictures", "erasures"} <= kinds
        assert modes(home.parent) == {}


def test_a_file_of_before_is_closed_and_keeps_what_is_in_it(tmp_path: Path):
    path = tmp_path / "old"
    path.write_text("kept")
    path.chmod(0o644)

    private_file(path)

    assert oct(path.stat().st_mode & 0o777) == oct(0o600)
    assert path.read_text() == "kept"


def test_a_file_in_the_place_of_a_folder_is_said(tmp_path: Path):
    (tmp_path / "here").write_text("")

    with pytest.raises(NotADirectoryError):
        private_folder(tmp_path / "here")
