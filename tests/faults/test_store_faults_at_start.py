"""A start on a store that cannot be used just now: warning signs are answered all the same."""

import asyncio
import sqlite3
import threading
from contextlib import closing
from pathlib import Path

import pytest
from sqlmodel import select

from bot.errors import StoreError, StoreNewer
from bot.storage.database import NEWER, Database
from bot.storage.tables import AlertRow, InboxRow
from bot.storage.unit import UnitOfWork
from tests.doubles.bot_api import BotApi
from tests.doubles.running_app import running_app, told, until_healthy
from tests.doubles.telegram_practice import COACH_CHAT, FIRST_CLIENT_CHAT, make_practice

MARY = FIRST_CLIENT_CHAT
SIGN = "my chest hurts and it goes to my arm"


@pytest.fixture
def store(api: BotApi, tmp_path: Path) -> Path:
    """The file of a practice's store."""
    chats = make_practice(tmp_path, clients=1)
    for chat in (*chats.clients, *chats.coaches):
        api.chat(chat)
    [file] = tmp_path.glob("*.sqlite3")
    return file


def _ruin(store: Path) -> None:
    """Nothing of it can be read any more."""
    for left in store.parent.glob(f"{store.name}-*"):
        left.unlink()
    store.write_bytes(b"\0" * 100_000)


async def test_a_locked_store_is_opened_later_and_the_sign_is_kept_once(
    api: BotApi, store: Path
) -> None:
    with closing(sqlite3.connect(store, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        async with running_app(store.parent, api) as running:
            sign = api.say(MARY, SIGN)
            await api.until(lambda: told(api, MARY, "Call 111 now"))
            await api.until(lambda: told(api, COACH_CHAT, SIGN))
            await api.until(lambda: api.confirmed(sign))
            assert await running.app.alive()
            assert not await running.app.healthy()

            other.execute("ROLLBACK")
            await until_healthy(running)
            await running.app.settle()

            assert running.app.database.run_now(_arrived) == ([(str(sign), "done")], 1)


async def test_while_a_store_takes_long_to_be_brought_up_signs_are_answered(
    api: BotApi, store: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """An older store with years in it takes minutes: systemd gives a start one."""
    brought_up = threading.Event()

    def slowly(database: Database) -> None:
        assert brought_up.wait(60)
        upgrade(database)

    upgrade = Database.upgrade
    monkeypatch.setattr(Database, "upgrade", slowly)
    monkeypatch.setattr("bot.runtime.app.OPENED_WITHIN", 0.05)
    try:
        async with running_app(store.parent, api) as running:
            sign = api.say(MARY, SIGN)
            await api.until(lambda: told(api, MARY, "Call 111 now"))
            await api.until(lambda: told(api, COACH_CHAT, SIGN))
            await api.until(lambda: api.confirmed(sign))
            assert await running.app.alive()
            assert not await running.app.healthy()

            brought_up.set()
            await until_healthy(running)
            await running.app.settle()
            assert running.app.database.run_now(_arrived) == ([(str(sign), "done")], 1)
    finally:
        brought_up.set()


def _arrived(unit: UnitOfWork) -> tuple[list[tuple[str, str]], int]:
    inbox = unit.session.exec(select(InboxRow)).all()
    alerts = unit.session.exec(select(AlertRow)).all()
    return [(row.update_id, row.status) for row in inbox], len(alerts)


async def test_a_store_that_turns_out_newer_is_not_worked_in(
    api: BotApi, store: Path, caplog: pytest.LogCaptureFixture
) -> None:
    with closing(sqlite3.connect(store, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        async with running_app(store.parent, api) as running:
            other.execute("UPDATE alembic_version SET version_num = '9999'")
            other.execute("COMMIT")
            async with asyncio.timeout(120):
                while NEWER not in caplog.text:  # noqa: ASYNC110 - the refusal has no event
                    await asyncio.sleep(0.05)

            sign = api.say(MARY, SIGN)
            await api.until(lambda: told(api, MARY, "Call 111 now"))
            await api.until(lambda: api.confirmed(sign))
            assert await running.app.alive()
            assert not await running.app.healthy()

        assert other.execute("SELECT count(*) FROM inbox").fetchone() == (0,)


async def test_a_store_in_ruins_still_leaves_advice_and_keeps_the_words_aside(
    api: BotApi, store: Path
) -> None:
    _ruin(store)
    async with running_app(store.parent, api) as running:
        sign = api.say(MARY, SIGN)
        # Nobody knows who she is: no country's number, but what to do.
        await api.until(lambda: told(api, MARY, "emergency number"))
        await api.until(lambda: api.confirmed(sign))
        assert await running.app.alive()
        assert not await running.app.healthy()

    assert list(store.parent.glob("spool*"))


async def test_a_newer_store_ends_the_start(api: BotApi, store: Path) -> None:
    with closing(sqlite3.connect(store)) as other:
        other.execute("UPDATE alembic_version SET version_num = '9999'")
        other.commit()

    with pytest.raises(StoreNewer):
        async with running_app(store.parent, api):
            pass


async def test_a_place_where_no_store_can_be_made_ends_the_start(
    api: BotApi, tmp_path: Path
) -> None:
    (tmp_path / "dayrung.sqlite3").mkdir()

    with pytest.raises(StoreError):
        async with running_app(tmp_path, api):
            pass
