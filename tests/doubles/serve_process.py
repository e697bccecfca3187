"""``dayrung serve`` as a process of its own, against a double of the platform."""

import asyncio
import os
import signal
import sys
from pathlib import Path

from tests.doubles.bot_api import TOKEN
from tests.doubles.store import KEY

COMMAND = "from bot.cli.start import main; main()"

TALKATIVE = f"""
import logging
logging.basicConfig(level=logging.DEBUG)
logging.Logger.setLevel = lambda *_: None
import aiohttp
ask = aiohttp.ClientSession._request
def ask_and_log(self, method, url, **more):
    logging.getLogger("aiohttp.client").debug("%s %s", method, url)
    return ask(self, method, url, **more)
aiohttp.ClientSession._request = ask_and_log
{COMMAND}
"""
"""The same with every logger at its most talkative, whatever the program asks of them, and an HTTP
client that writes down each address, as others do."""


class Service:
    """One process at a time on one home folder."""

    def __init__(self, home: Path, api: str, command: str = COMMAND, **settings: str) -> None:
        self._command = command
        self._environment = {
            "PATH": os.environ["PATH"],
            "HOME": str(home),
            "DAYRUNG_HOME": str(home),
            "DAYRUNG_KEY": KEY.decode(),
            "DAYRUNG_TELEGRAM_TOKEN": TOKEN,
            "DAYRUNG_TELEGRAM_API": api,
            "DAYRUNG_PORT": "0",
            **settings,
        }
        self._process: asyncio.subprocess.Process | None = None
        self._log = home / "service.log"

    @property
    def log(self) -> str:
        """All that it has written so far, over all starts."""
        return self._log.read_text("utf-8") if self._log.exists() else ""

    @property
    def process_id(self) -> int:
        """The id of the running process."""
        assert self._process is not None
        return self._process.pid

    async def start(self, *arguments: str) -> None:
        """Start the process; it needs some seconds until it answers.

        ``arguments``: another command of the program than ``serve``.
        """
        with self._log.open("ab") as log:
            self._process = await asyncio.create_subprocess_exec(
                sys.executable,
                "-c",
                self._command,
                *(arguments or ("serve",)),
                env=self._environment,
                stdout=log,
                stderr=log,
                cwd=Path(__file__).parents[2],
            )

    async def kill(self) -> None:
        """SIGKILL: no chance to tidy up."""
        await self.stop(signal.SIGKILL)

    async def stop(self, how: signal.Signals = signal.SIGTERM) -> int:
        """End the process and wait for it; gives its exit code.

        Raises ``TimeoutError`` when it hangs.
        """
        assert self._process is not None
        if self._process.returncode is None:
            self._process.send_signal(how)
        async with asyncio.timeout(20):
            return await self._process.wait()

    async def until_it_says(self, words: str) -> None:
        """Wait until these words stand in what it has written."""
        async with asyncio.timeout(40):
            while words not in self.log:  # noqa: ASYNC110 - another process writes the file
                await asyncio.sleep(0.05)

    async def ended(self) -> int:
        """Wait until the process ends by itself; gives its exit code."""
        assert self._process is not None
        async with asyncio.timeout(40):
            return await self._process.wait()

    async def __aenter__(self) -> "Service":
        await self.start()
        return self

    async def __aexit__(self, *_error: object) -> None:
        if self._process is not None and self._process.returncode is None:
            await self.kill()
