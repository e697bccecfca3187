"""Callers who say nothing can neither stay nor crowd out the others."""

import asyncio

import httpx
import uvicorn
from starlette.applications import Starlette
from starlette.responses import PlainTextResponse
from starlette.routing import Route

from bot.runtime import quiet_server
from bot.runtime.listening import listen
from bot.runtime.quiet_server import FewConnections, QuietServer


async def _ok(_request) -> PlainTextResponse:
    return PlainTextResponse("ok")


async def _closed(reader: asyncio.StreamReader) -> bool:
    try:
        return await asyncio.wait_for(reader.read(), 20) == b""
    except ConnectionError:
        return True


async def test_callers_who_say_nothing_are_closed_and_never_keep_others_out(monkeypatch):
    monkeypatch.setattr(quiet_server, "MOST_CONNECTIONS", 5)
    monkeypatch.setattr(quiet_server, "HEAD_SECONDS", 1.0)
    config = uvicorn.Config(
        Starlette(routes=[Route("/", _ok)]), http=FewConnections, lifespan="off", log_level="error"
    )
    server = QuietServer(config)
    with listen("127.0.0.1", 0) as sock:
        port = sock.getsockname()[1]
        serving = asyncio.create_task(server.serve([sock]))
        idle = [await asyncio.open_connection("127.0.0.1", port) for _ in range(20)]
        async with httpx.AsyncClient() as caller:
            answer = await caller.get(f"http://127.0.0.1:{port}/", timeout=20)
        assert answer.text == "ok"
        assert len(server.server_state.connections) <= 6
        assert all(await asyncio.gather(*(_closed(reader) for reader, _ in idle)))
        for _, writer in idle:
            writer.close()
        server.should_exit = True
        await serving
