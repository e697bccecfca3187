"""While the practice is made its page answers already; then the trial page takes its place."""

import asyncio
import signal
import sqlite3
import threading
from collections.abc import AsyncIterator, Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import httpx
import pytest
from rich.console import Console

from bot.errors import StoreError
from bot.settings import Settings
from bot.storage.database import Database
from bot.storage.encryption import Encryption
from bot.trial import trial
from bot.trial.practice import _finish, is_made
from tests.doubles.free_port import free_port
from tests.doubles.store import KEY
from tests.support.loaded import loaded

WITHIN = 120


@dataclass
class Slow:
    """A practice that is made no further than it is told to."""

    go_on: threading.Event = field(default_factory=threading.Event)
    began: threading.Event = field(default_factory=threading.Event)

    async def make(
        self,
        settings: Settings,
        key: bytes,
        _loaded: object,
        *,
        seen: Callable[..., None],
        **_: Any,
    ) -> None:
        seen(3, 8)
        self.began.set()
        while not self.go_on.wait(0.02):
            seen(3, 8)
        seen(8, 8)
        database = Database(settings.database_address, Encryption(key))
        database.run_now(_finish, trial.ShiftedClock().now())
        database.close()


@pytest.fixture
def slow(monkeypatch: pytest.MonkeyPatch) -> Slow:
    made = Slow()
    monkeypatch.setattr(trial, "make_practice", made.make)
    monkeypatch.setattr(trial, "load_all", lambda *_given: loaded())
    return made


@dataclass
class Trying:
    page: httpx.AsyncClient
    running: asyncio.Task[None]
    store: Database

    async def until(self, path: str, status: int) -> httpx.Response:
        for _ in range(WITHIN * 50):
            answer = await self.page.get(path)
            if answer.status_code == status:
                return answer
            await asyncio.sleep(0.02)
        raise AssertionError(f"{path} never answered {status}")

    async def stop(self) -> None:
        signal.raise_signal(signal.SIGTERM)
        async with asyncio.timeout(WITHIN):
            await self.running


@pytest.fixture
async def trying(tmp_path: Path, slow: Slow) -> AsyncIterator[Trying]:
    port = free_port()
    (tmp_path / "trial").mkdir()
    settings = Settings(home=tmp_path, database="", key=KEY.decode(), _env_file=None)
    work = trial.try_out(settings, port=port, fresh=False, weeks=1, console=Console(quiet=True))
    running = asyncio.create_task(work)
    store = Database(f"sqlite:///{tmp_path / 'trial' / 'dayrung.sqlite3'}", Encryption(KEY))
    async with httpx.AsyncClient(base_url=f"http://127.0.0.1:{port}") as page:
        assert await asyncio.to_thread(slow.began.wait, WITHIN)
        yield Trying(page, running, store)
    slow.go_on.set()
    if not running.done():
        signal.raise_signal(signal.SIGTERM)
        await running
    store.close()


async def test_the_page_shows_how_far_it_is_and_then_the_trial_page(
    slow: Slow, trying: Trying
) -> None:
    waiting = await trying.until("/", 200)
    assert "<progress" in waiting.text
    assert "/static/waiting.js" in waiting.text
    assert (await trying.until("/static/waiting.js", 200)).text
    assert (await trying.until("/making", 200)).json() == {"done": 3, "of": 8}
    # A monitor, and the page of the last start, are not told that the practice is there.
    assert (await trying.page.get("/health")).status_code == 503
    assert (await trying.page.get("/state")).status_code == 404

    slow.go_on.set()

    # What the waiting page loads itself anew by.
    await trying.until("/making", 404)
    assert "/static/page.js" in (await trying.until("/", 200)).text
    await trying.until("/health", 200)
    await trying.stop()


async def test_other_sites_are_kept_away_from_the_waiting_page_too(trying: Trying) -> None:
    asked = await trying.page.get("/making", headers={"Host": "elsewhere.example"})

    assert asked.status_code == 403
    assert "default-src 'none'" in (await trying.page.get("/")).headers["Content-Security-Policy"]


async def test_a_stop_while_it_is_made_ends_it_and_the_next_start_begins_anew(
    trying: Trying,
) -> None:
    await trying.stop()

    assert not trying.store.run_now(is_made)


def test_what_was_written_without_the_disk_is_in_the_file_once_it_is_made_lasting(
    tmp_path: Path,
) -> None:
    address = f"sqlite:///{tmp_path / 'store.sqlite3'}"
    quick = Database(address, Encryption(KEY), at_once=True)
    quick.migrate()
    here = threading.get_ident()
    assert asyncio.run(quick.run(lambda _unit: threading.get_ident())) == here
    assert asyncio.run(quick.read(lambda _unit: threading.get_ident())) == here
    quick.run_now(_finish, trial.ShiftedClock().now())
    quick.end_whole()

    lasting = Database(address, Encryption(KEY))
    lasting.make_lasting()

    # Without the log beside it: all is in the file itself.
    copy = tmp_path / "copy.sqlite3"
    copy.write_bytes((tmp_path / "store.sqlite3").read_bytes())
    with sqlite3.connect(copy) as connection:
        assert connection.execute("SELECT count(*) FROM round").fetchone() == (1,)
    connection.close()
    for store in (quick, lasting):
        store.close()


def test_what_fails_in_the_one_transaction_takes_all_before_it_along(tmp_path: Path) -> None:
    address = f"sqlite:///{tmp_path / 'store.sqlite3'}"
    quick = Database(address, Encryption(KEY), at_once=True)
    quick.migrate()
    quick.run_now(_finish, trial.ShiftedClock().now())
    assert quick.run_now(is_made)
    with pytest.raises(ZeroDivisionError):
        quick.run_now(lambda _unit: 1 // 0)

    with pytest.raises(StoreError):
        quick.run_now(is_made)
    with pytest.raises(StoreError):
        quick.end_whole()
    quick.close()
    other = Database(address, Encryption(KEY))
    assert not other.run_now(is_made)
    other.close()
