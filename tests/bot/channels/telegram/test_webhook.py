"""The webhook's route: only the platform is let in, and 200 means that it is on the disk."""

import asyncio
import hmac
import json
from collections.abc import AsyncIterator
from typing import Any

import httpx
import pytest
from starlette.applications import Starlette

from bot.channels.telegram.channel import Webhook
from bot.channels.telegram.webhook import LARGEST_UPDATE, PATH, SECRET_HEADER
from bot.errors import StoreError
from tests.bot.channels.conftest import Arrivals, Make
from tests.doubles.bot_api import BotApi

SECRET = "a-secret_of-ours"


@pytest.fixture
async def client(make: Make) -> AsyncIterator[httpx.AsyncClient]:
    channel = make(webhook=Webhook("https://ours.example/", SECRET))
    route = channel.route()
    assert route is not None
    transport = httpx.ASGITransport(Starlette(routes=[route]), raise_app_exceptions=False)
    async with httpx.AsyncClient(transport=transport, base_url="http://test") as made:
        yield made


def _update(api: BotApi, words: str = "my chest hurts") -> dict[str, Any]:
    api.say(501, words)
    return api.chats.waiting[-1]


def _secret(secret: str = SECRET) -> dict[str, str]:
    return {SECRET_HEADER: secret}


async def test_an_update_of_the_platform_arrives(
    api: BotApi, client: httpx.AsyncClient, arrivals: Arrivals
) -> None:
    answer = await client.post(PATH, json=_update(api), headers=_secret())

    assert answer.status_code == 200
    assert [one.text for one in arrivals] == ["my chest hurts"]


@pytest.mark.parametrize(
    "headers",
    [
        pytest.param({}, id="none"),
        pytest.param(_secret(""), id="empty"),
        pytest.param(_secret("another-secret"), id="another"),
        pytest.param(_secret(SECRET[:-1]), id="one letter short"),
        pytest.param(_secret(SECRET + "x"), id="one letter more"),
        pytest.param(_secret(SECRET.upper()), id="in capitals"),
        pytest.param([(SECRET_HEADER.encode(), "säcret\xff".encode("latin-1"))], id="not ASCII"),
        pytest.param({"Authorization": SECRET}, id="in another header"),
    ],
)
async def test_a_call_without_the_very_secret_is_refused_and_read_no_further(
    api: BotApi, client: httpx.AsyncClient, arrivals: Arrivals, headers: Any
) -> None:
    answer = await client.post(PATH, json=_update(api), headers=headers)

    assert (answer.status_code, answer.content) == (403, b"")
    assert arrivals == []


async def test_secrets_are_compared_in_a_time_that_tells_nothing(
    api: BotApi, client: httpx.AsyncClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    compared: list[tuple[bytes, bytes]] = []
    real = hmac.compare_digest

    def compare(one: bytes, other: bytes) -> bool:
        compared.append((one, other))
        return real(one, other)

    monkeypatch.setattr(hmac, "compare_digest", compare)
    for secret in (SECRET, "another"):
        await client.post(PATH, json=_update(api), headers=_secret(secret))

    assert compared == [(SECRET.encode(), SECRET.encode()), (b"another", SECRET.encode())]


async def test_the_platform_is_answered_only_after_the_commit(
    api: BotApi, make: Make, arrivals: Arrivals
) -> None:
    committed = asyncio.Event()

    async def accept(batch: Any) -> None:
        await committed.wait()
        await arrivals(batch)

    route = make(webhook=Webhook("https://ours.example", SECRET), accept=accept).route()
    assert route is not None
    transport = httpx.ASGITransport(Starlette(routes=[route]))
    async with httpx.AsyncClient(transport=transport, base_url="http://test") as client:
        call = asyncio.create_task(client.post(PATH, json=_update(api), headers=_secret()))
        await asyncio.sleep(0.1)
        assert not call.done()
        committed.set()
        assert (await call).status_code == 200


@pytest.mark.parametrize(
    ("fault", "status"), [(StoreError("disk full"), 503), (RuntimeError("a fault of ours"), 500)]
)
async def test_while_nothing_can_be_kept_the_platform_is_asked_to_bring_it_again(
    api: BotApi, client: httpx.AsyncClient, arrivals: Arrivals, fault: Exception, status: int
) -> None:
    update = _update(api)
    arrivals.fault = fault

    assert (await client.post(PATH, json=update, headers=_secret())).status_code == status

    arrivals.fault = None
    assert (await client.post(PATH, json=update, headers=_secret())).status_code == 200
    assert len(arrivals) == 1


async def test_a_repeat_has_the_same_id_and_is_answered_the_same(
    api: BotApi, client: httpx.AsyncClient, arrivals: Arrivals
) -> None:
    update = _update(api)

    answers = [await client.post(PATH, json=update, headers=_secret()) for _ in range(3)]

    assert [answer.status_code for answer in answers] == [200, 200, 200]
    assert len(arrivals) == 1


@pytest.mark.parametrize(
    "body",
    [
        pytest.param(b"", id="nothing"),
        pytest.param(b"{", id="half"),
        pytest.param(b"\xff\xfe{}", id="no text"),
        pytest.param(b"[]", id="a list"),
        pytest.param(b"7", id="a number"),
        pytest.param(b"null", id="null"),
        pytest.param(b"{}", id="no update id"),
        pytest.param(b"[" * 100_000, id="without end"),
    ],
)
async def test_what_is_no_update_is_refused_and_breaks_nothing(
    client: httpx.AsyncClient, arrivals: Arrivals, body: bytes
) -> None:
    answer = await client.post(PATH, content=body, headers=_secret())

    assert (answer.status_code, answer.content) == (400, b"")
    assert arrivals == []


@pytest.mark.parametrize("counted", [True, False], ids=["with its length", "in parts"])
async def test_an_overlong_body_is_refused_without_reading_it_all(
    api: BotApi, client: httpx.AsyncClient, arrivals: Arrivals, counted: bool
) -> None:
    parts_read = 0

    async def in_parts() -> AsyncIterator[bytes]:
        nonlocal parts_read
        for _ in range(100):
            parts_read += 1
            yield b" " * 100_000

    content: Any = b" " * (LARGEST_UPDATE + 1) if counted else in_parts()
    answer = await client.post(PATH, content=content, headers=_secret())

    assert (answer.status_code, answer.content) == (413, b"")
    assert arrivals == []
    assert parts_read < 20


async def test_the_longest_update_there_can_be_is_taken(
    api: BotApi, client: httpx.AsyncClient, arrivals: Arrivals
) -> None:
    # 4,096 letters (Bot API, sendMessage), each escaped as two halves of six signs.
    update = _update(api, "😀" * 4096)

    assert len(json.dumps(update)) < LARGEST_UPDATE
    assert (await client.post(PATH, json=update, headers=_secret())).status_code == 200
    assert len(arrivals) == 1


@pytest.mark.parametrize("method", ["GET", "PUT", "DELETE"])
async def test_only_posts_are_taken(client: httpx.AsyncClient, method: str) -> None:
    assert (await client.request(method, PATH, headers=_secret())).status_code == 405


async def test_what_nobody_said_is_confirmed_and_left_alone(
    client: httpx.AsyncClient, arrivals: Arrivals
) -> None:
    answer = await client.post(PATH, json={"update_id": 1, "poll": {"id": "7"}}, headers=_secret())

    assert answer.status_code == 200
    assert arrivals == []


async def test_without_a_webhook_there_is_no_such_route(make: Make) -> None:
    assert make().route() is None


async def test_the_platform_is_told_the_address_the_secret_and_one_call_at_a_time(
    api: BotApi, make: Make
) -> None:
    channel = make(webhook=Webhook("https://ours.example/", SECRET))
    stop = asyncio.Event()
    running = asyncio.create_task(channel.run(stop))
    await api.until(lambda: bool(api.sent("setMyCommands")))
    stop.set()
    await running

    assert api.methods.webhook == {"url": "https://ours.example/telegram", "secret": SECRET}
    [call] = api.sent("setWebhook")
    assert call.parameters["max_connections"] == "1"
    assert json.loads(call.parameters["allowed_updates"]) == [
        "message",
        "edited_message",
        "callback_query",
    ]
    assert "drop_pending_updates" not in call.parameters
    assert api.sent("getUpdates") == []
