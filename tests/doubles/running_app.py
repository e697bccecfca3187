"""The whole program in the test's own process, on the platform's double."""

import asyncio
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import dataclass
from pathlib import Path

from bot.channels.telegram.channel import TelegramChannel
from bot.clock import SystemClock
from bot.runtime.app import App, build
from bot.runtime.channel_factory import TELEGRAM, telegram
from bot.settings import Settings
from tests.doubles.bot_api import TOKEN, BotApi
from tests.doubles.store import KEY
from tests.support.loaded import loaded


@dataclass(frozen=True)
class Running:
    """A started program and its channel."""

    app: App
    channel: TelegramChannel


@asynccontextmanager
async def running_app(
    home: Path, api: BotApi, *, slow_after: float = 1.0
) -> AsyncIterator[Running]:
    """Start it on ``home``, let it take what arrives at ``api``, and stop it at the end."""
    settings = Settings(
        _env_file=None,  # type: ignore[call-arg]  # pydantic takes it beside the fields
        home=home,
        database="",
        key=KEY.decode(),
        telegram_token=TOKEN,
        telegram_api=api.address,
        sends_per_second=500,
        seconds_between_sends=0,
    )
    app = build(
        settings,
        KEY,
        SystemClock(),
        lambda clock, database, loaded, contents, accept: {
            TELEGRAM: telegram(settings, clock, database, loaded.words, contents, accept)
        },
        lambda _code: "",
        loaded(),
        slow_after,
    )
    channel = app.channels[TELEGRAM]
    assert isinstance(channel, TelegramChannel)
    await app.start()
    stop = asyncio.Event()
    fetching = asyncio.create_task(channel.run(stop))
    try:
        yield Running(app, channel)
    finally:
        stop.set()
        await fetching
        await app.stop()
        await channel.close()


async def until_healthy(running: Running) -> None:
    """Wait until its store takes changes."""
    async with asyncio.timeout(120):
        while not await running.app.healthy():  # noqa: ASYNC110 - there is no event for it
            await asyncio.sleep(0.05)


def told(api: BotApi, chat: int, words: str) -> bool:
    """Whether a chat was sent these words."""
    return any(words in text for text in api.chat(chat).texts)
