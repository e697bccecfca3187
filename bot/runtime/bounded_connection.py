"""Connections to the port of health and webhook: few at once, and none that says nothing.

Each open connection takes one of the process's open files. Kept without end, a thousand silent ones
would leave no file for the store and no socket for Telegram: no sign would be answered.
"""

import asyncio

from uvicorn.protocols.http.h11_impl import H11Protocol

MOST_CONNECTIONS = 200
"""Far below the 1,024 open files that a process may have at least on Linux; a proxy, a monitor and
a metrics server need a handful."""

LOOK_SECONDS = 10.0
"""A connection has no request between two looks, or one request at both: it is closed. Health is
said within two seconds and an update of the platform comes whole."""


class BoundedConnection(H11Protocol):
    """A connection that is closed where there are too many, or where nothing is asked of it."""

    _look: asyncio.TimerHandle | None = None
    _asked: object = None

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override] # as uvicorn's
        """Close what is over the bound at once; look at the others again and again."""
        super().connection_made(transport)
        if len(self.connections) > MOST_CONNECTIONS:
            transport.abort()
            return
        self._look = self.loop.call_later(LOOK_SECONDS, self._look_at_it)

    def connection_lost(self, exc: Exception | None) -> None:
        """Look no more."""
        if self._look is not None:
            self._look.cancel()
        super().connection_lost(exc)

    def _look_at_it(self) -> None:
        request = self.cycle
        if request is None or request.response_complete or request is self._asked:
            self.transport.abort()
            return
        self._asked = request
        self._look = self.loop.call_later(LOOK_SECONDS, self._look_at_it)
