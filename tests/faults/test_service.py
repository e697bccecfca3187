"""``dayrung serve`` as people meet it: a process of its own, on a double of the platform."""

import asyncio
import contextlib
import signal
import socket
import sqlite3
import sys
from collections.abc import AsyncIterator
from pathlib import Path

import httpx
import pytest

from tests.architecture.code import ROOT
from tests.doubles.bot_api import TOKEN, BotApi
from tests.doubles.serve_process import Service
from tests.doubles.telegram_practice import COACH_CHAT, FIRST_CLIENT_CHAT, make_practice

MARY = FIRST_CLIENT_CHAT
SIGN = "my chest hurts and it goes to my arm"


@pytest.fixture
async def service(api: BotApi, tmp_path: Path) -> AsyncIterator[Service]:
    chats = make_practice(tmp_path, clients=2)
    for chat in (*chats.clients, *chats.coaches):
        api.chat(chat)
    async with Service(tmp_path, api.address) as running:
        await api.until(lambda: bool(api.methods.commands))
        yield running


async def test_the_program_itself_starts_answers_and_stops(api: BotApi, tmp_path: Path) -> None:
    """No fork of a parent that has read everything, as other tests have."""
    chats = make_practice(tmp_path, clients=1)
    for chat in (*chats.clients, *chats.coaches):
        api.chat(chat)
    command = "from bot.cli.start import main; main()"
    begun = await asyncio.create_subprocess_exec(
        sys.executable,
        "-c",
        command,
        "serve",
        env=Service(tmp_path, api.address).environment,
        cwd=ROOT,
    )
    try:
        await api.until(lambda: bool(api.methods.commands))
        api.say(MARY, SIGN)
        await api.until(lambda: bool(api.chat(COACH_CHAT).said) and bool(api.chat(MARY).said))
        begun.send_signal(signal.SIGTERM)
        async with asyncio.timeout(120):
            assert await begun.wait() == 0
    finally:
        if begun.returncode is None:
            begun.kill()
            await begun.wait()


async def test_a_warning_sign_is_answered_the_coach_told_and_a_stop_is_clean(
    api: BotApi, service: Service
) -> None:
    api.say(MARY, SIGN)
    await api.until(lambda: bool(api.chat(COACH_CHAT).said) and bool(api.chat(MARY).said))

    assert await service.stop() == 0
    assert "Call 111 now" in api.chat(MARY).texts[0]
    assert SIGN in api.chat(COACH_CHAT).texts[0]
    assert TOKEN.partition(":")[2] not in service.log
    assert "chest" not in service.log


async def test_while_the_store_is_locked_advice_and_alert_go_out_and_all_is_kept(
    api: BotApi, service: Service, tmp_path: Path
) -> None:
    lock = sqlite3.connect(tmp_path / "dayrung.sqlite3", isolation_level=None)
    lock.execute("BEGIN IMMEDIATE")

    update_id = api.say(MARY, SIGN)
    await api.until(lambda: bool(api.chat(COACH_CHAT).said) and bool(api.chat(MARY).said))
    await api.until(lambda: api.confirmed(update_id))

    assert "Call 111 now" in api.chat(MARY).texts[0]
    assert "fault" in api.chat(COACH_CHAT).texts[0]
    assert SIGN in api.chat(COACH_CHAT).texts[0]
    lock.execute("ROLLBACK")
    lock.close()
    # The usual path takes over: the alert comes again, with its buttons.
    await api.until(lambda: any(one.buttons for one in api.chat(COACH_CHAT).said.values()))
    assert "chest" not in service.log


async def test_a_taken_port_is_one_sentence_and_people_are_heard_without_it(
    api: BotApi, tmp_path: Path
) -> None:
    make_practice(tmp_path, clients=1)
    for chat in (MARY, COACH_CHAT):
        api.chat(chat)
    with socket.create_server(("127.0.0.1", 0)) as other:
        port = other.getsockname()[1]
        async with Service(tmp_path, api.address, DAYRUNG_PORT=str(port)) as service:
            api.say(MARY, SIGN)
            await api.until(lambda: bool(api.chat(COACH_CHAT).said))
            assert service.log.count(f"Port {port} (DAYRUNG_PORT) is taken") == 1
            assert "Traceback" not in service.log

            other.close()
            async with httpx.AsyncClient() as monitor, asyncio.timeout(120):
                while True:
                    with contextlib.suppress(httpx.ConnectError):
                        answer = await monitor.get(f"http://127.0.0.1:{port}/health")
                        break
                    await asyncio.sleep(0.2)
            assert answer.status_code == 200
            assert await service.stop() == 0
