"""However the store fails, warning signs are answered at once, and nothing that arrived is lost."""

import asyncio
import threading
from collections.abc import AsyncIterator, Callable
from contextlib import AbstractContextManager
from pathlib import Path

import pytest
from sqlmodel import col, select

from bot.delivery import lifeline
from bot.storage.database import Database
from bot.storage.tables import AlertRow, InboxRow
from bot.storage.unit import UnitOfWork
from tests.doubles import store_faults
from tests.doubles.bot_api import BotApi
from tests.doubles.running_app import Running, running_app, told, until_healthy
from tests.doubles.telegram_practice import COACH_CHAT, FIRST_CLIENT_CHAT, make_practice

MARY = FIRST_CLIENT_CHAT
HEMI = FIRST_CLIENT_CHAT + 1
SIGN = "my chest hurts and it goes to my arm"
LONG = SIGN + ". " + "I was in the garden before. " * 100
"""Needs pages of its own, so that a full disk has no room for it."""

Fault = Callable[[Database], AbstractContextManager[None]]

FAULTS = [
    pytest.param(store_faults.locked, id="locked by another program"),
    pytest.param(store_faults.full, id="max_page_count reached"),
    pytest.param(store_faults.only_readable, id="query_only"),
    pytest.param(store_faults.broken, id="raises"),
    pytest.param(store_faults.broken_after_the_first_commit, id="raises after the arrival is kept"),
    pytest.param(store_faults.faulty_program, id="raises what it should not"),
]


@pytest.fixture
async def running(
    api: BotApi, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> AsyncIterator[Running]:
    monkeypatch.setattr(lifeline, "REPLAY_EVERY", 0.2)
    chats = make_practice(tmp_path, clients=2)
    for chat in (*chats.clients, *chats.coaches):
        api.chat(chat)
    async with running_app(tmp_path, api, slow_after=0.5) as made:
        await api.until(lambda: bool(api.methods.commands))
        await made.app.lifeline.refresh()
        yield made


@pytest.mark.parametrize("fault", FAULTS)
async def test_a_warning_sign_is_answered_and_told_while_the_store_fails_and_kept_for_later(
    api: BotApi, running: Running, fault: Fault, caplog: pytest.LogCaptureFixture
) -> None:
    with fault(running.app.database):
        sign = api.say(MARY, LONG)
        await api.until(lambda: told(api, MARY, "Call 111 now"))
        await api.until(lambda: told(api, COACH_CHAT, SIGN))
        # Another client, a moment later, with words that are no sign.
        other = api.say(HEMI, "Good morning")
        await api.until(lambda: api.confirmed(sign) and api.confirmed(other))
        await api.until(lambda: told(api, HEMI, "fault"))
        assert told(api, HEMI, "call 111")
        assert not await running.app.healthy()

    await until_healthy(running)
    await running.app.settle()

    def look(unit: UnitOfWork) -> tuple[list[tuple[str, str]], int]:
        inbox = unit.session.exec(select(InboxRow).order_by(col(InboxRow.id))).all()
        alerts = unit.session.exec(select(AlertRow)).all()
        return [(row.update_id, row.status) for row in inbox], len(alerts)

    arrived, alerts = running.app.database.run_now(look)
    assert sorted(arrived) == [(str(sign), "done"), (str(other), "done")]
    assert alerts == 1
    # The usual path has answered too: the alert stands at the coach with its buttons.
    assert any(one.buttons for one in api.chat(COACH_CHAT).said.values())
    assert not any(running.app.settings.home.glob("spool*"))
    assert "chest" not in caplog.text


@pytest.mark.parametrize("fault", FAULTS)
async def test_nobody_gets_the_same_help_twice_however_often_the_store_is_tried(
    api: BotApi, running: Running, fault: Fault
) -> None:
    with fault(running.app.database):
        sign = api.say(MARY, LONG)
        await api.until(lambda: told(api, COACH_CHAT, SIGN))
        await api.until(lambda: api.confirmed(sign))
        # Several rounds of the replay and of the engine's own tries.
        await asyncio.sleep(1.5)

        assert sum("Call 111 now" in text for text in api.chat(MARY).texts) == 1
        assert sum(SIGN in text for text in api.chat(COACH_CHAT).texts) == 1


async def test_health_is_answered_while_the_store_hangs_for_good(running: Running) -> None:
    await until_healthy(running)
    free = threading.Event()
    hanging = asyncio.create_task(running.app.database.run(lambda _unit: free.wait()))
    async with asyncio.timeout(120):
        answers = [await running.app.healthy() for _ in range(3)]
    # It has answered, and what hangs hangs still.
    assert answers == [False, False, False]
    assert not hanging.done()

    free.set()
    await hanging
    await until_healthy(running)
