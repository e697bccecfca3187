"""The token stands in no log and in no error, with every library at its most talkative.

The loggers cannot be turned down here, as if nobody had thought of them: what is hidden is hidden
by what writes the lines.
"""

import asyncio
from pathlib import Path

import pytest

from tests.doubles.bot_api import TOKEN, BotApi
from tests.doubles.free_port import free_port
from tests.doubles.serve_process import TALKATIVE, Service
from tests.doubles.telegram_practice import COACH_CHAT, FIRST_CLIENT_CHAT, make_practice
from tests.doubles.webhook_delivery import delivering

SECRET = TOKEN.partition(":")[2]
HOOK_SECRET = "a-secret_of-ours"
MARY = FIRST_CLIENT_CHAT


def _look_for_secrets(written: str) -> None:
    """Fails where one is found; fails, too, where nothing talkative was written."""
    assert "aiohttp.client" in written
    assert "/bot[hidden]/" in written
    assert SECRET not in written
    assert HOOK_SECRET not in written


async def _break_everything(api: BotApi, service: Service) -> None:
    """A day's work, a refused message, then a platform that is gone while something is to say."""
    api.say(MARY, "my chest hurts")
    await api.until(lambda: bool(api.chat(COACH_CHAT).said) and bool(api.chat(MARY).said))
    api.chat(MARY).blocked = True
    api.say(MARY, "/menu")
    await service.until_it_says("cannot be reached")
    await api.stop()
    await asyncio.sleep(2)
    await service.stop()


async def test_serve_by_fetching(tmp_path: Path) -> None:
    make_practice(tmp_path, clients=1)
    async with BotApi() as api:
        api.chat(COACH_CHAT)
        async with Service(tmp_path, api.address, first=TALKATIVE) as service:
            await _break_everything(api, service)

    _look_for_secrets(service.log)
    assert "/getUpdates" in service.log


async def test_serve_with_a_webhook(tmp_path: Path) -> None:
    make_practice(tmp_path, clients=1)
    async with BotApi() as api, delivering(api, free_port()) as delivery:
        api.chat(COACH_CHAT)
        service = Service(
            tmp_path,
            api.address,
            first=TALKATIVE,
            DAYRUNG_PORT=delivery.address.rpartition(":")[2],
            DAYRUNG_TELEGRAM_WEBHOOK="https://ours.example",
            DAYRUNG_TELEGRAM_SECRET=HOOK_SECRET,
        )
        async with service:
            await _break_everything(api, service)

    _look_for_secrets(service.log)
    assert "/setWebhook" in service.log


async def test_serve_with_a_token_that_is_refused(tmp_path: Path) -> None:
    make_practice(tmp_path, clients=1)
    async with (
        BotApi(token="another") as api,
        Service(tmp_path, api.address, first=TALKATIVE) as service,
    ):
        assert await service.ended() == 2

    _look_for_secrets(service.log)
    assert service.log.strip().endswith("the token is refused")


@pytest.mark.parametrize("state", ["works", "refused", "unreachable"])
@pytest.mark.parametrize("command", [("check",), ("invite-coach", "Rua")])
async def test_commands_that_ask_the_platform(
    tmp_path: Path, state: str, command: tuple[str, ...]
) -> None:
    make_practice(tmp_path, clients=0)
    async with BotApi(token="another" if state == "refused" else TOKEN) as api:
        service = Service(tmp_path, api.address, first=TALKATIVE)
        if state == "unreachable":
            await api.stop()
        await service.start(*command)
        await service.ended()

    written = service.log
    assert "aiohttp.client" in written
    assert SECRET not in written
    assert (state == "unreachable") or "/bot[hidden]/getMe" in written
