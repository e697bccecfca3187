"""Telling systemd that the service is ready and alive (sd_notify), where it asks for that."""

import asyncio
import contextlib
import os
import socket
from collections.abc import Awaitable, Callable

from bot.settings import watchdog_settings

DEFAULT_SECONDS = 20.0


async def tell_systemd(alive: Callable[[], Awaitable[bool]], stop: asyncio.Event) -> None:
    """Say "ready", then "alive" as often as asked while ``alive``; returns when ``stop`` is set.

    Does nothing where systemd did not name a socket.
    """
    path, every = watchdog_settings()
    if not path:
        return
    _send(path, "READY=1")
    while not stop.is_set():
        if await alive():
            _send(path, "WATCHDOG=1")
        with contextlib.suppress(TimeoutError):
            await asyncio.wait_for(stop.wait(), every or DEFAULT_SECONDS)
    _send(path, "STOPPING=1")


def _send(path: str, text: str) -> None:
    """One datagram; a socket that is gone is no reason to stop."""
    address = f"\0{path[1:]}" if path.startswith("@") else path
    with (
        contextlib.suppress(OSError),
        socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM | socket.SOCK_CLOEXEC) as link,
    ):
        link.sendto(text.encode(), os.fspath(address))
