"""Taking turns: a few at one time; who is urgent goes first, the others in order."""

import asyncio
from collections import deque
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager


class Turns:
    """Lets a few work at one time. For one event loop."""

    def __init__(self, at_once: int) -> None:
        """``at_once``: how many."""
        self._free = at_once
        self._urgent: deque[asyncio.Future[None]] = deque()
        self._others: deque[asyncio.Future[None]] = deque()

    @asynccontextmanager
    async def turn(self, *, urgent: bool) -> AsyncIterator[None]:
        """Wait for a turn and hold it."""
        if self._free:
            self._free -= 1
        else:
            await self._wait(self._urgent if urgent else self._others)
        try:
            yield
        finally:
            self._pass_on()

    async def _wait(self, queue: deque[asyncio.Future[None]]) -> None:
        called = asyncio.get_running_loop().create_future()
        queue.append(called)
        try:
            await called
        except asyncio.CancelledError:
            if called.done() and not called.cancelled():
                # The turn had come already: it must not be lost.
                self._pass_on()
            raise

    def _pass_on(self) -> None:
        for queue in (self._urgent, self._others):
            while queue:
                called = queue.popleft()
                if not called.done():
                    called.set_result(None)
                    return
        self._free += 1
