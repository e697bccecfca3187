"""Telegram's updates by webhook: answered with 200 only once they are on the disk."""

import hmac
import json
from collections.abc import Awaitable, Callable, Mapping
from typing import Any

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from bot.channels.telegram.batches import id_of, update_of
from bot.errors import StoreError

PATH = "/telegram"
SECRET_HEADER = "X-Telegram-Bot-Api-Secret-Token"  # noqa: S105 - the header's name, not a secret

LARGEST_UPDATE = 1_000_000
"""Bytes; an update holds texts and ids, never files."""

Take = Callable[[Mapping[str, Any]], Awaitable[None]]


def webhook_route(take: Take, secret: str) -> Route:
    """The route for the web server.

    Args:
        take: puts one update on the disk; raises ``StoreError`` when it cannot.
        secret: what Telegram must send with each call.
    """

    async def receive(request: Request) -> Response:
        given = request.headers.get(SECRET_HEADER, "")
        if not hmac.compare_digest(given.encode(), secret.encode()):
            return Response(status_code=403)
        try:
            update = await _update(request)
        except TooLong:
            return Response(status_code=413)
        if update is None:
            return Response(status_code=400)
        try:
            await take(update)
        except StoreError:
            # Telegram sends it again later.
            return Response(status_code=503)
        return Response(status_code=200)

    return Route(PATH, receive, methods=["POST"])


class TooLong(Exception):
    """A call brought more than any update holds."""


async def _update(request: Request) -> Mapping[str, Any] | None:
    """The update that a call brought; ``None`` when it is none. Raises ``TooLong``."""
    raw = bytearray()
    async for part in request.stream():
        raw += part
        if len(raw) > LARGEST_UPDATE:
            raise TooLong
    try:
        value = json.loads(raw)
    except (ValueError, RecursionError):
        # Brought again and again it would keep back the others: what is left of it is set aside.
        return update_of(raw.decode("utf-8", "replace"))
    return value if id_of(value) is not None else None
