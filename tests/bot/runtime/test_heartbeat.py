"""The call to an outside monitor ends nothing, whatever its address is."""

import asyncio
from types import SimpleNamespace
from typing import Any, cast

import pytest

from bot.runtime.app import App
from bot.runtime.serve import _heartbeat


@pytest.mark.parametrize(
    "address",
    [
        pytest.param("http://[::1", id="half an address"),
        pytest.param("https://monitor.example:80a/x", id="a port that is none"),
        pytest.param("http://127.0.0.1:99999/x", id="a port beyond all"),
    ],
)
async def test_an_address_that_is_none_is_said_and_ends_no_service(
    address: str, caplog: pytest.LogCaptureFixture
):
    stop, asked = asyncio.Event(), 0

    async def healthy() -> bool:
        nonlocal asked
        asked += 1
        asyncio.get_running_loop().call_later(0.05, stop.set)
        return True

    app: Any = SimpleNamespace(settings=SimpleNamespace(heartbeat=address), healthy=healthy)
    await _heartbeat(cast(App, app), stop)

    assert asked == 1
    assert "DAYRUNG_HEARTBEAT cannot be called" in caplog.text
    assert address not in caplog.text
