"""After a restore ids begin again where the backup ended: later buttons act on nobody."""

import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from bot.storage.server.brought_back import pause_all
from bot.storage.server.generation import begin_generation
from tests.scenarios.conftest import MONDAY_EVENING
from tests.support.practice import Practice, practice


@pytest.fixture
async def village(tmp_path: Path):
    async with practice(tmp_path, MONDAY_EVENING, database="") as running:
        await running.coach("Rua")
        await running.client("Mary")
        await running.client("Bob")
        yield running


def copied(village: Practice, to: Path) -> None:
    store = village.home / "dayrung.sqlite3"
    with closing(sqlite3.connect(store)) as live, closing(sqlite3.connect(to)) as copy:
        live.backup(copy)


async def brought_back(village: Practice, copy: Path) -> None:
    """As ``dayrung restore`` does it."""
    village.app.database.close()
    store = village.home / "dayrung.sqlite3"
    for path in store.parent.glob(f"{store.name}*"):
        path.unlink()
    shutil.copyfile(copy, store)
    await village.restart()
    village.app.database.run_now(begin_generation, village.clock.now())
    await village.restart()


def button(village: Practice, who: str, label: str) -> tuple[str, str]:
    """The newest button of this label: what it sends back, and its message."""
    for one in reversed(village.channel.sent):
        for row in one.outgoing.choices if one.address == who else ():
            for choice in row:
                if choice.label.startswith(label):
                    return choice.value, one.platform_id
    raise AssertionError(label)


async def test_i_have_seen_this_of_a_lost_alert_ends_nobody_s_chase(
    village: Practice, tmp_path: Path
):
    copy = tmp_path / "copy"
    copied(village, copy)
    await village.says("mary", "crushing chest pain")
    value, message = button(village, "rua", "I have seen")
    await brought_back(village, copy)
    await village.says("bob", "my face droops and I cannot lift my arm")
    heard = len(village.heard("bob"))

    said = await village.taps_value("rua", value, message)

    assert "seen" not in " ".join(said[:1])
    assert not any("has seen" in text for text in village.heard("bob", heard))
    told = len(village.heard("rua"))
    await village.wait(3)
    assert any("EMERGENCY" in text for text in village.heard("rua", told)), "it is told again"
    await village.taps("rua", "I have seen")
    assert any("has seen" in text for text in village.heard("bob", heard))


async def test_a_button_from_before_the_backup_still_acts(village: Practice, tmp_path: Path):
    await village.says("mary", "crushing chest pain")
    value, message = button(village, "rua", "I have seen")
    copy = tmp_path / "copy"
    copied(village, copy)
    await brought_back(village, copy)
    heard = len(village.heard("mary"))
    await village.taps_value("rua", value, message)
    assert any("has seen" in text for text in village.heard("mary", heard))


async def test_what_tells_of_something_wrong_is_heard_from_a_lost_screen(
    village: Practice, tmp_path: Path
):
    copy = tmp_path / "copy"
    copied(village, copy)
    await village.says("mary", "something is wrong")
    sign, message = button(village, "mary", "! Chest")
    ill, _ = button(village, "mary", "Ill")
    await brought_back(village, copy)
    said = await village.taps_value("mary", ill, message)
    assert "rest today" not in " ".join(said)
    said = await village.taps_value("mary", sign, message)
    assert "Stop" in said[0] or "now" in said[0].lower()


async def test_nobody_trains_on_what_a_backup_does_not_know(village: Practice, tmp_path: Path):
    """Mary had an emergency and Bob was well; the backup is from before."""
    await village.says("rua", "settings")
    await village.taps("rua", "Time of my list", "07:00")
    copy = tmp_path / "copy"
    copied(village, copy)
    await village.says("mary", "crushing chest pain")
    await brought_back(village, copy)
    assert village.app.database.run_now(pause_all, village.clock.now()) == 2
    assert village.app.database.run_now(pause_all, village.clock.now()) == 0

    for who in ("mary", "bob"):
        assert "Your training is paused." in (await village.says(who, "/today"))[-1]
    await village.at("08:00")
    told = "\n".join(village.heard("rua"))
    assert "brought back from a backup" in told
    assert "Paused: Bob since yesterday; Mary since yesterday" in told
    await village.says("rua", "Bob")
    await village.taps("rua", "End the pause", "I decide", "Today")
    assert "First the morning check-in." in (await village.says("bob", "/today"))[0]
    assert "Your training is paused." in (await village.says("mary", "/today"))[-1]
