"""Connections that say nothing leave room for those that ask."""

import asyncio
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager

import httpx
import pytest
import uvicorn
from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import PlainTextResponse
from starlette.routing import Route

from bot.runtime import bounded_connection
from bot.runtime.bounded_connection import BoundedConnection
from bot.runtime.listening import listen
from bot.runtime.quiet_server import QuietServer


@asynccontextmanager
async def _served() -> AsyncIterator[int]:
    """Gives the port."""

    async def body(request: Request) -> PlainTextResponse:
        return PlainTextResponse(str(len(await request.body())))

    app = Starlette(routes=[Route("/", body, methods=["GET", "POST"])])
    config = uvicorn.Config(app, lifespan="off", log_level="error", http=BoundedConnection)
    server = QuietServer(config)
    listening = listen("127.0.0.1", 0)
    serving = asyncio.create_task(server.serve(sockets=[listening]))
    try:
        yield listening.getsockname()[1]
    finally:
        server.should_exit = True
        await serving


async def _closed(reader: asyncio.StreamReader) -> bool:
    try:
        return await reader.read() == b""
    except ConnectionError:
        return True


async def _silent(
    port: int, sent: bytes = b""
) -> tuple[asyncio.StreamReader, asyncio.StreamWriter]:
    reader, writer = await asyncio.open_connection("127.0.0.1", port)
    writer.write(sent)
    return reader, writer


async def test_more_than_the_most_are_closed_and_the_first_still_answered(
    monkeypatch: pytest.MonkeyPatch,
):
    monkeypatch.setattr(bounded_connection, "MOST_CONNECTIONS", 3)
    async with _served() as port, httpx.AsyncClient() as asking:
        assert (await asking.get(f"http://127.0.0.1:{port}/")).text == "0"
        kept = [await _silent(port) for _ in range(2)]
        over, writer = await _silent(port)

        assert await _closed(over)
        assert (await asking.get(f"http://127.0.0.1:{port}/")).text == "0"
        for one in (writer, *(writer for _, writer in kept)):
            one.close()


@pytest.mark.parametrize(
    "sent",
    [
        pytest.param(b"", id="nothing"),
        pytest.param(b"GET / HTTP/1.1\r\nHost: a\r\n", id="half a head"),
        pytest.param(
            b"POST / HTTP/1.1\r\nHost: a\r\nContent-Length: 9\r\n\r\nabc", id="half a body"
        ),
    ],
)
async def test_who_says_nothing_more_is_closed(sent: bytes, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(bounded_connection, "LOOK_SECONDS", 0.05)
    async with _served() as port:
        reader, writer = await _silent(port, sent)

        assert await _closed(reader)
        writer.close()
