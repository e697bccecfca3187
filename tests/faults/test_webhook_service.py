"""``dayrung serve`` with a webhook: a process of its own, to which the platform brings updates."""

import asyncio
import sqlite3
from collections.abc import AsyncIterator
from pathlib import Path

import httpx
import pytest
from sqlmodel import col, select

from bot.channels.telegram.webhook import PATH
from bot.storage.tables import AlertRow, InboxRow
from bot.storage.unit import UnitOfWork
from tests.doubles.bot_api import TOKEN, BotApi
from tests.doubles.free_port import free_port
from tests.doubles.serve_process import Service
from tests.doubles.telegram_practice import (
    COACH_CHAT,
    FIRST_CLIENT_CHAT,
    make_practice,
    open_store,
)
from tests.doubles.webhook_delivery import SECRET_HEADER, Delivery, delivering

MARY = FIRST_CLIENT_CHAT
SIGN = "my chest hurts and it goes to my arm"
SECRET = "a-secret_of-ours"


@pytest.fixture
async def delivery(api: BotApi) -> AsyncIterator[Delivery]:
    async with delivering(api, free_port()) as made:
        yield made


@pytest.fixture
async def service(api: BotApi, delivery: Delivery, tmp_path: Path) -> AsyncIterator[Service]:
    chats = make_practice(tmp_path, clients=2)
    for chat in (*chats.clients, *chats.coaches):
        api.chat(chat)
    made = Service(
        tmp_path,
        api.address,
        DAYRUNG_PORT=delivery.address.rpartition(":")[2],
        DAYRUNG_TELEGRAM_WEBHOOK="https://ours.example",
        DAYRUNG_TELEGRAM_SECRET=SECRET,
    )
    async with made:
        await api.until(lambda: bool(api.methods.commands))
        yield made


def _look(unit: UnitOfWork) -> tuple[list[tuple[str, str]], int]:
    rows = unit.session.exec(select(InboxRow).order_by(col(InboxRow.id))).all()
    return (
        [(row.update_id, row.status) for row in rows],
        len(unit.session.exec(select(AlertRow)).all()),
    )


async def test_what_the_platform_brings_is_kept_answered_once_and_a_stop_is_clean(
    api: BotApi, delivery: Delivery, service: Service, tmp_path: Path
) -> None:
    sign = api.say(MARY, SIGN)
    update = api.chats.waiting[-1]
    await api.until(lambda: bool(api.chat(COACH_CHAT).said) and bool(api.chat(MARY).said))
    # The platform did not hear the 200, and brings it again.
    api.chats.repeat(update)
    tapped = api.tap(COACH_CHAT, "I have seen this")
    await api.until(lambda: api.confirmed(tapped) and all(api.chats.queries.values()))

    async with httpx.AsyncClient() as stranger:
        for headers in ({}, {SECRET_HEADER: "guessed"}):
            forged = await stranger.post(
                delivery.address + PATH, json={**update, "update_id": 999_999}, headers=headers
            )
            assert forged.status_code == 403
        health = await stranger.get(f"{delivery.address}/health")
        assert health.json() == {"healthy": True}

    assert await service.stop() == 0

    store = open_store(tmp_path)
    arrived, alerts = store.run_now(_look)
    store.close()
    assert arrived == [(str(sign), "done"), (str(tapped), "done")]
    assert alerts == 1
    assert delivery.answers[:2] == [(sign, 200), (sign, 200)]
    assert sum("Call 111 now" in text for text in api.chat(MARY).texts) == 1
    for secret in (TOKEN.partition(":")[2], SECRET, "chest"):
        assert secret not in service.log


async def test_what_comes_while_it_is_down_is_brought_when_it_is_back(
    api: BotApi, delivery: Delivery, service: Service
) -> None:
    await service.kill()
    sign = api.say(MARY, SIGN)
    async with asyncio.timeout(120):
        while (sign, 0) not in delivery.answers:  # noqa: ASYNC110 - the platform's own tries
            await asyncio.sleep(0.05)
    assert not api.confirmed(sign)

    await service.start()

    await api.until(lambda: bool(api.chat(COACH_CHAT).said) and bool(api.chat(MARY).said))
    assert api.confirmed(sign)


async def test_while_neither_store_nor_spool_takes_anything_the_platform_keeps_it(
    api: BotApi, delivery: Delivery, service: Service, tmp_path: Path
) -> None:
    # A folder in the spool's place: root may write into any file.
    (tmp_path / "spool").mkdir()
    lock = sqlite3.connect(tmp_path / "dayrung.sqlite3", isolation_level=None)
    lock.execute("BEGIN IMMEDIATE")

    sign = api.say(MARY, SIGN)
    await api.until(lambda: bool(api.chat(COACH_CHAT).said) and bool(api.chat(MARY).said))
    await service.until_it_says("nothing can be kept")
    assert not api.confirmed(sign)
    assert "Call 111 now" in api.chat(MARY).texts[0]

    lock.execute("ROLLBACK")
    lock.close()
    (tmp_path / "spool").rmdir()
    await api.until(lambda: api.confirmed(sign))
    assert delivery.answers[-1] == (sign, 200)
    assert {status for one, status in delivery.answers if one == sign} == {503, 200}
    # The same help is not given twice; the alert with its buttons comes the usual way.
    await api.until(lambda: any(one.buttons for one in api.chat(COACH_CHAT).said.values()))
    assert sum("fault" in text for text in api.chat(COACH_CHAT).texts) == 1
