"""What the Telegram tests share: the platform's double and a channel that talks to it."""

import asyncio
from collections.abc import AsyncIterator, Callable, Sequence
from contextlib import asynccontextmanager
from datetime import UTC, datetime
from typing import Any

import pytest

from bot.channels.telegram.channel import TelegramChannel
from bot.clock import ManualClock
from bot.messages import Incoming
from tests.doubles.bot_api import TOKEN, BotApi

CONTACT_LABEL = "Share my number"
NOW = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)


class Arrivals(list[Incoming]):
    """Keeps what a channel hands in, once an id; fails while ``fault`` is set."""

    def __init__(self) -> None:
        super().__init__()
        self.fault: Exception | None = None

    async def __call__(self, batch: Sequence[Incoming]) -> None:
        if self.fault is not None:
            raise self.fault
        known = {one.update_id for one in self}
        self.extend(one for one in batch if one.update_id not in known)


def load(content_id: str) -> tuple[bytes, str]:
    """Contents for tests: the id is the file name, and "broken" things cannot be made."""
    if content_id.startswith("broken"):
        raise KeyError(content_id)
    return b"content of " + content_id.encode(), content_id


Make = Callable[..., TelegramChannel]


@pytest.fixture
async def api() -> AsyncIterator[BotApi]:
    async with BotApi() as double:
        yield double
    assert double.complaints == []


@pytest.fixture
def arrivals() -> Arrivals:
    return Arrivals()


@pytest.fixture
async def make(api: BotApi, arrivals: Arrivals) -> AsyncIterator[Make]:
    made: list[TelegramChannel] = []

    def channel(**settings: Any) -> TelegramChannel:
        given = {
            "token": TOKEN,
            "api": api.address,
            "accept": arrivals,
            "clock": ManualClock(NOW),
            "load": load,
            "contact_label": CONTACT_LABEL,
            **settings,
        }
        made.append(TelegramChannel(**given))
        return made[-1]

    yield channel
    for one in made:
        await one.close()


@pytest.fixture
def channel(make: Make) -> TelegramChannel:
    return make()


@asynccontextmanager
async def running(channel: TelegramChannel) -> AsyncIterator[None]:
    """The channel's loop, until the block ends."""
    stop = asyncio.Event()
    task = asyncio.create_task(channel.run(stop))
    try:
        yield
    finally:
        stop.set()
        await task
