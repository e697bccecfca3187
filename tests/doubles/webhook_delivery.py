"""The platform's side of a webhook: it brings each update until the bot answers 2xx.

The address that the bot sets is https, as the platform wants; a proxy that ends TLS stands between.
Here that proxy is left out: updates are brought to a port of this machine, at the address's path.
"""

import asyncio
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager, suppress
from urllib.parse import urlsplit

import httpx

from tests.doubles.bot_api import BotApi

SECRET_HEADER = "X-Telegram-Bot-Api-Secret-Token"
PAUSE = 0.1
"""Seconds before an update is brought again."""


class Delivery:
    """Brings what waits, in order, one at a time.

    ``answers`` lists each try: the update's id and the status, 0 for no answer.
    """

    def __init__(self, api: BotApi, port: int) -> None:
        self._api = api
        self._port = port
        self.answers: list[tuple[int, int]] = []

    @property
    def address(self) -> str:
        """Where the bot's web server is to listen."""
        return f"http://127.0.0.1:{self._port}"

    async def run(self) -> None:
        """Bring updates for ever."""
        async with httpx.AsyncClient(timeout=30) as client:
            while True:
                waiting, webhook = self._api.chats.waiting, self._api.methods.webhook
                if not waiting or not webhook["url"]:
                    await asyncio.sleep(0.02)
                    continue
                update = waiting[0]
                status = await self._bring(client, update, webhook)
                self.answers.append((update["update_id"], status))
                if 200 <= status < 300:
                    waiting.popleft()
                    confirmed = max(self._api.chats.confirmed_until, update["update_id"] + 1)
                    self._api.chats.confirmed_until = confirmed
                    self._api.woken()
                else:
                    await asyncio.sleep(PAUSE)

    async def _bring(self, client: httpx.AsyncClient, update: object, webhook: dict) -> int:
        headers = {SECRET_HEADER: webhook["secret"]} if webhook["secret"] else {}
        path = urlsplit(webhook["url"]).path
        try:
            answer = await client.post(self.address + path, json=update, headers=headers)
        except httpx.HTTPError:
            return 0
        return answer.status_code


@asynccontextmanager
async def delivering(api: BotApi, port: int) -> AsyncIterator[Delivery]:
    """Updates are brought until the block ends."""
    delivery = Delivery(api, port)
    task = asyncio.create_task(delivery.run())
    try:
        yield delivery
    finally:
        task.cancel()
        with suppress(asyncio.CancelledError):
            await task
