"""Starting ``dayrung serve`` many times quickly: a parent that has imported it forks each start.

Only the imports, the red-flag reader and the movements (data that never changes) are shared.
Everything that serving does, from the settings on, happens in the child, which is a process of its
own and dies like one.
"""

import asyncio
import contextlib
import os
import signal
import sys
from pathlib import Path

from tests.doubles.serve_process import Service

PARENT = """
import os, sys
# As the program's entry does: threads of the arithmetic library do not outlive a fork, and the
# child would wait for them for ever.
import bot.cli.start
import bot.cli.commands
import bot.reference.reference
reader = bot.reference.reference.load_reader()
movements = bot.reference.reference.load_movements(None)
bot.reference.reference.load_reader = lambda: reader
bot.reference.reference.load_movements = lambda _own: movements
sys.argv = ["dayrung", "serve"]
print("ready", flush=True)
for log in sys.stdin:
    child = os.fork()
    if child == 0:
        os.close(0)
        handle = os.open(log.strip(), os.O_WRONLY | os.O_APPEND | os.O_CREAT)
        os.dup2(handle, 1)
        os.dup2(handle, 2)
        bot.cli.commands.main()
        os._exit(0)
    print(child, flush=True)
    _, status = os.waitpid(child, 0)
    print(status, flush=True)
"""


class QuickService(Service):
    """As :class:`Service`, one start after the other from one parent process."""

    _child = 0

    async def start(self) -> None:
        """Start the service anew."""
        if self._process is None:
            self._process = await asyncio.create_subprocess_exec(
                sys.executable,
                "-c",
                PARENT,
                env=self._environment,
                stdin=asyncio.subprocess.PIPE,
                stdout=asyncio.subprocess.PIPE,
                cwd=Path(__file__).parents[2],
            )
            assert await self._line() == "ready"
        assert self._process.stdin is not None
        self._process.stdin.write(f"{self._log}\n".encode())
        await self._process.stdin.drain()
        self._child = int(await self._line())

    async def stop(self, how: signal.Signals = signal.SIGTERM) -> int:
        """End the running start and wait for it; gives the status of the wait."""
        with contextlib.suppress(ProcessLookupError):
            os.kill(self._child, how)
        async with asyncio.timeout(60):
            return int(await self._line())

    async def close(self) -> None:
        """End the parent, after the last start has ended."""
        assert self._process is not None
        assert self._process.stdin is not None
        self._process.stdin.close()
        await self._process.wait()

    async def __aenter__(self) -> "QuickService":
        """Nothing runs yet."""
        return self

    async def __aexit__(self, *_error: object) -> None:
        if self._process is None:
            return
        with contextlib.suppress(ProcessLookupError):
            if self._child:
                os.kill(self._child, signal.SIGKILL)
        await self.close()

    async def _line(self) -> str:
        assert self._process is not None
        assert self._process.stdout is not None
        return (await self._process.stdout.readline()).decode().strip()
