"""SIGTERM ends the service, whatever it has in hand, and nothing is lost by it."""

import asyncio
import sqlite3
from collections.abc import AsyncIterator
from pathlib import Path

import pytest
from sqlmodel import func, select

from bot.storage.tables import AlertRow, InboxRow, OutboxRow
from bot.storage.unit import UnitOfWork
from tests.doubles.bot_api import BotApi, Fault, Trouble
from tests.doubles.serve_process import Service
from tests.doubles.telegram_practice import Chats, make_practice, open_store

CLIENTS = 20
FAST = {"DAYRUNG_SENDS_PER_SECOND": "500", "DAYRUNG_SECONDS_BETWEEN_SENDS": "0"}
SIGN = "my chest hurts and it goes to my arm"
MOST_IN_HAND = 8
"""Sends that the service has in hand at one time; only these may be repeated."""


@pytest.fixture
def chats(api: BotApi, tmp_path: Path) -> Chats:
    made = make_practice(tmp_path, clients=CLIENTS)
    for chat in (*made.clients, *made.coaches):
        api.chat(chat)
    return made


@pytest.fixture
async def service(api: BotApi, chats: Chats, tmp_path: Path) -> AsyncIterator[Service]:
    async with Service(tmp_path, api.address, **FAST) as running:
        await api.until(lambda: bool(api.methods.commands))
        yield running


def _left(unit: UnitOfWork) -> int:
    inbox = select(func.count()).where(InboxRow.status != "done")
    outbox = select(func.count()).where(OutboxRow.status == "waiting")
    return unit.session.exec(inbox).one() + unit.session.exec(outbox).one()


def _sent_and_alerts(unit: UnitOfWork) -> tuple[int, int]:
    sent = select(func.count()).where(OutboxRow.status == "sent")
    alerts = select(func.count()).select_from(AlertRow)
    return unit.session.exec(sent).one(), unit.session.exec(alerts).one()


async def _all_said_after_a_new_start(
    api: BotApi, service: Service, chats: Chats, home: Path
) -> int:
    """Start again, wait until everybody has been answered and told; gives how much came twice."""
    api.faults.clear()
    await service.start()
    [coach] = chats.coaches
    await api.until(
        lambda: (
            all("Call 111 now" in "\n".join(api.chat(one).texts) for one in chats.clients)
            and all(f"Mary {one}" in "\n".join(api.chat(coach).texts) for one in chats.clients)
        ),
    )
    store = open_store(home)
    async with asyncio.timeout(120):
        # Another process works it off.
        while store.run_now(_left) or store.run_now(_sent_and_alerts)[1] < CLIENTS:  # noqa: ASYNC110
            await asyncio.sleep(0.1)
    await service.stop()
    sent, alerts = store.run_now(_sent_and_alerts)
    store.close()
    assert alerts == CLIENTS
    # What the lifeline says on a slow machine ("I have a fault") is no row of the store.
    return sum("a fault" not in call.parameters["text"] for call in api.sent()) - sent


async def test_slow_answers_are_waited_for_and_nothing_is_said_twice(
    api: BotApi, service: Service, chats: Chats, tmp_path: Path
) -> None:
    api.faults.append(Fault(Trouble.SLOW, times=10_000, seconds=2.0))
    for chat in chats.clients:
        api.say(chat, SIGN)
    await api.until(lambda: len(api.sent()) >= 4)

    assert await service.stop() == 0
    said_before = len(api.sent())

    # It stopped in the middle: most of it is still to be said.
    assert said_before < 2 * CLIENTS
    assert await _all_said_after_a_new_start(api, service, chats, tmp_path) == 0


async def test_answers_that_never_come_are_given_up_and_said_again(
    api: BotApi, service: Service, chats: Chats, tmp_path: Path
) -> None:
    api.faults.append(Fault(Trouble.NO_ANSWER, times=10_000))
    for chat in chats.clients:
        api.say(chat, SIGN)
    await api.until(lambda: len(api.sent()) >= 4)

    assert await service.stop() == 0

    repeats = await _all_said_after_a_new_start(api, service, chats, tmp_path)
    assert 0 < repeats <= MOST_IN_HAND


async def test_a_locked_store_does_not_hold_up_the_stop(
    api: BotApi, service: Service, chats: Chats, tmp_path: Path
) -> None:
    lock = sqlite3.connect(tmp_path / "dayrung.sqlite3", isolation_level=None)
    lock.execute("BEGIN IMMEDIATE")
    for chat in chats.clients:
        api.say(chat, SIGN)
    await api.until(lambda: all(api.chat(one).said for one in chats.clients))

    assert await service.stop() == 0

    lock.execute("ROLLBACK")
    lock.close()
    await _all_said_after_a_new_start(api, service, chats, tmp_path)


async def test_a_stop_while_updates_stream_in_loses_none(
    api: BotApi, service: Service, chats: Chats, tmp_path: Path
) -> None:
    first = api.say(chats.clients[0], SIGN)
    for chat in chats.clients[1:]:
        api.say(chat, SIGN)
        if chat == chats.clients[CLIENTS // 2]:
            await api.until(lambda: api.confirmed(first))

    assert await service.stop() == 0
    # What was not confirmed yet comes again, and is known.
    await _all_said_after_a_new_start(api, service, chats, tmp_path)
