"""``dayrung serve`` as a process of its own, against a double of the platform."""

import asyncio
import os
import signal
from multiprocessing.process import BaseProcess
from pathlib import Path

from tests.doubles import forked_program
from tests.doubles.bot_api import TOKEN
from tests.doubles.store import KEY

TALKATIVE = """
import logging
logging.basicConfig(level=logging.DEBUG)
for name in list(logging.root.manager.loggerDict):
    logging.getLogger(name).setLevel(logging.NOTSET)
logging.Logger.setLevel = lambda *_: None
import aiohttp
ask = aiohttp.ClientSession._request
def ask_and_log(self, method, url, **more):
    logging.getLogger("aiohttp.client").debug("%s %s", method, url)
    return ask(self, method, url, **more)
aiohttp.ClientSession._request = ask_and_log
"""
"""Makes every logger talk as much as it can, whatever the program asks of them, with an HTTP client
that writes down each address, as others do."""


class Service:
    """One process at a time on one home folder."""

    def __init__(self, home: Path, api: str, first: str = "", **settings: str) -> None:
        """``first``: Python code that each process runs before the program.

        ``environment`` holds all variables that the process has.
        """
        self._first = first
        self.environment = {
            "PATH": os.environ["PATH"],
            "HOME": str(home),
            "DAYRUNG_HOME": str(home),
            "DAYRUNG_KEY": KEY.decode(),
            "DAYRUNG_TELEGRAM_TOKEN": TOKEN,
            "DAYRUNG_TELEGRAM_API": api,
            "DAYRUNG_PORT": "0",
            **settings,
        }
        self._process: BaseProcess | None = None
        self._log = home / "service.log"

    @property
    def log(self) -> str:
        """All that it has written so far, over all starts."""
        return self._log.read_text("utf-8") if self._log.exists() else ""

    @property
    def process_id(self) -> int:
        """The id of the running process."""
        assert self._process is not None
        assert self._process.pid is not None
        return self._process.pid

    async def start(self, *arguments: str) -> None:
        """Start the process; it needs a moment until it answers.

        ``arguments``: another command of the program than ``serve``.
        """
        self._process = await asyncio.to_thread(
            forked_program.start,
            arguments or ("serve",),
            self.environment,
            self._log,
            Path(__file__).parents[2],
            self._first,
        )

    async def kill(self) -> None:
        """SIGKILL: no chance to tidy up."""
        await self.stop(signal.SIGKILL)

    async def stop(self, how: signal.Signals = signal.SIGTERM) -> int:
        """End the process and wait for it; gives its exit code.

        Raises ``TimeoutError`` when it hangs.
        """
        if self._runs():
            os.kill(self.process_id, how)
        return await self._ended_within(120)

    async def until_it_says(self, words: str) -> None:
        """Wait until these words stand in what it has written."""
        async with asyncio.timeout(120):
            while words not in self.log:  # noqa: ASYNC110 - another process writes the file
                await asyncio.sleep(0.05)

    async def ended(self) -> int:
        """Wait until the process ends by itself; gives its exit code."""
        return await self._ended_within(120)

    async def __aenter__(self) -> "Service":
        await self.start()
        return self

    async def __aexit__(self, *_error: object) -> None:
        if self._runs():
            await self.kill()

    def _runs(self) -> bool:
        return self._process is not None and self._process.is_alive()

    async def _ended_within(self, seconds: float) -> int:
        assert self._process is not None
        await asyncio.to_thread(self._process.join, seconds)
        if self._process.exitcode is None:
            raise TimeoutError("the process goes on")
        return self._process.exitcode
