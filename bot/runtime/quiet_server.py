"""A web server that leaves the signals to us, and whose callers cannot take all file handles."""

import asyncio
import contextlib
from typing import Any

import uvicorn
from uvicorn.protocols.http.h11_impl import H11Protocol

MOST_CONNECTIONS = 200
"""So many at once; the platform has at most 40, a monitor one (ours)."""

HEAD_SECONDS = 10.0
"""So long a caller may take to say what it wants (ours)."""


class QuietServer(uvicorn.Server):
    """A web server that leaves the signals to us."""

    @contextlib.contextmanager
    def capture_signals(self):  # type: ignore[no-untyped-def]  # noqa: ANN201 - uvicorn's own signature
        """Take over no signal: the program stops its parts in its own order."""
        yield


class FewConnections(H11Protocol):
    """One connection. Whoever says nothing is closed; of too many, the oldest of those first.

    Each takes a file handle, and without one neither the platform nor the spool can be reached.
    """

    _idle: asyncio.TimerHandle | None = None
    _number = 0
    _made = 0

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        """Make room where there is none, and wait for its head."""
        super().connection_made(transport)
        FewConnections._made += 1
        self._number = FewConnections._made
        if len(self.connections) > MOST_CONNECTIONS:
            others: list[Any] = [one for one in self.connections if one is not self]
            oldest = min(others, key=lambda one: (one._has_asked(), one._number))
            oldest.transport.abort()
        self._idle = self.loop.call_later(HEAD_SECONDS, self._close_if_silent)

    def connection_lost(self, exc: Exception | None) -> None:
        """Nothing is waited for any more."""
        if self._idle is not None:
            self._idle.cancel()
        super().connection_lost(exc)

    def _close_if_silent(self) -> None:
        if not self._has_asked():
            self.transport.abort()

    def _has_asked(self) -> bool:
        # Uvicorn's type says that there always is one.
        return bool(self.cycle)
