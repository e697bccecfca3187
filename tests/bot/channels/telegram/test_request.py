"""Our HTTP for the library's Bot, on real sockets.

What must hold is the library's own contract for a request class (telegram.request.BaseRequest):
status and body come back as they are, a time-out is ``TimedOut``, other faults ``NetworkError``.
"""

import asyncio
import json
from collections.abc import AsyncIterator

import pytest
from telegram import InputFile
from telegram.error import NetworkError, RetryAfter, TimedOut
from telegram.request import RequestData
from telegram.request._requestparameter import RequestParameter

from bot.channels.telegram import request as telegram_request
from bot.channels.telegram.request import Request
from tests.doubles.bot_api import TOKEN
from tests.doubles.http_server import CutConnection, HttpAnswer, HttpRequest, HttpServer


class Server(HttpServer):
    """Keeps what came, and answers as told."""

    def __init__(self) -> None:
        super().__init__(self._take)
        self.came: list[HttpRequest] = []
        self.answer = HttpAnswer(200, {"ok": True})
        self.slow_for = 0.0
        self.cuts = False
        self.at_work = self.most_at_work = 0

    async def _take(self, request: HttpRequest) -> HttpAnswer:
        self.came.append(request)
        if self.cuts:
            raise CutConnection
        self.at_work += 1
        self.most_at_work = max(self.most_at_work, self.at_work)
        await asyncio.sleep(self.slow_for)
        self.at_work -= 1
        return self.answer

    @property
    def method_url(self) -> str:
        """The address of a call, which holds the token."""
        return f"{self.address}/bot{TOKEN}/sendMessage"


@pytest.fixture
async def server() -> AsyncIterator[Server]:
    server = Server()
    await server.start()
    yield server
    await server.stop()


@pytest.fixture
async def request_class() -> AsyncIterator[Request]:
    telegram_request._proxy_to.cache_clear()
    request = Request(connections=4, connect_seconds=2, read_seconds=2, write_seconds=2)
    await request.initialize()
    yield request
    await request.shutdown()
    telegram_request._proxy_to.cache_clear()


def given(**parameters: object) -> RequestData:
    return RequestData([RequestParameter.from_input(k, v) for k, v in parameters.items()])


async def test_parameters_arrive_as_they_are(server: Server, request_class: Request) -> None:
    text = "Ka pai & 100 % = ✔\nnext"

    status, body = await request_class.do_request(
        server.method_url, "POST", given(text=text, chat_id=7, markup={"rows": [["Yes"]]})
    )

    assert (status, json.loads(body)) == (200, {"ok": True})
    [came] = server.came
    assert came.parameters["text"] == text
    assert came.parameters["chat_id"] == "7"
    assert json.loads(came.parameters["markup"]) == {"rows": [["Yes"]]}


async def test_a_file_arrives_whole(server: Server, request_class: Request) -> None:
    content = bytes(range(256)) * 300

    await request_class.do_request(
        server.method_url, "POST", given(chat_id=7, photo=InputFile(content, filename="a.png"))
    )

    [came] = server.came
    assert came.parameters["chat_id"] == "7"
    [upload] = came.uploads.values()
    assert (upload.name, upload.content) == ("a.png", content)


async def test_a_refusal_comes_back_with_its_words(server: Server, request_class: Request) -> None:
    server.answer = HttpAnswer(400, {"ok": False, "description": "Bad Request: no"})

    status, body = await request_class.do_request(server.method_url, "POST", given(chat_id=7))

    assert (status, json.loads(body)["description"]) == (400, "Bad Request: no")


async def test_an_answer_that_stays_away_is_a_time_out(
    server: Server, request_class: Request
) -> None:
    server.slow_for = 1.0

    with pytest.raises(TimedOut):
        await request_class.do_request(server.method_url, "POST", given(a=1), read_timeout=0.05)


async def test_the_time_of_a_call_counts_and_not_the_usual_one(server: Server) -> None:
    hasty = Request(connections=1, read_seconds=0.05)
    server.slow_for = 0.3

    try:
        status, _ = await hasty.do_request(server.method_url, "POST", given(a=1), read_timeout=5)
        assert status == 200
        with pytest.raises(TimedOut):
            await hasty.do_request(server.method_url, "POST", given(a=1))
    finally:
        await hasty.shutdown()


async def test_a_cut_connection_and_a_closed_port_are_faults_that_do_not_tell_the_token(
    server: Server, request_class: Request
) -> None:
    server.cuts = True
    secret = TOKEN.partition(":")[2]

    with pytest.raises(NetworkError) as cut:
        await request_class.do_request(server.method_url, "POST", given(a=1))
    await server.stop()
    with pytest.raises(NetworkError) as closed:
        await request_class.do_request(server.method_url, "POST", given(a=1))

    for fault in (cut.value, closed.value):
        assert not isinstance(fault, TimedOut)
        assert secret not in repr(fault)
        assert fault.__cause__ is None
    # What was cut may have arrived: the sender says it again, the client never by itself.
    assert len(server.came) == 1


async def test_a_flood_tells_how_long_to_wait(server: Server, request_class: Request) -> None:
    server.answer = HttpAnswer(429, {"ok": False, "parameters": {"retry_after": 12}})

    with pytest.raises(RetryAfter) as flood:
        await request_class.do_request(server.method_url, "POST", given(a=1))

    assert "12" in str(flood.value)


async def test_more_requests_than_connections_wait_their_turn(server: Server) -> None:
    narrow = Request(connections=1)
    server.slow_for = 0.05
    try:
        answers = await asyncio.gather(
            *(narrow.do_request(server.method_url, "POST", given(a=n)) for n in range(3))
        )
    finally:
        await narrow.shutdown()

    assert [status for status, _ in answers] == [200, 200, 200]
    assert server.most_at_work == 1


@pytest.mark.parametrize(
    ("setting", "exempt", "through"),
    [("http_proxy", "", True), ("all_proxy", "", True), ("http_proxy", "bot.example", False)],
)
async def test_the_proxy_that_the_environment_names_is_used(
    server: Server,
    request_class: Request,
    monkeypatch: pytest.MonkeyPatch,
    setting: str,
    exempt: str,
    through: bool,
) -> None:
    for name in ("http_proxy", "all_proxy", "no_proxy", "request_method"):
        monkeypatch.delenv(name, raising=False)
        monkeypatch.delenv(name.upper(), raising=False)
    monkeypatch.setenv(setting, server.address)
    monkeypatch.setenv("no_proxy", exempt)

    if through:
        status, _ = await request_class.do_request("http://bot.example/a", "POST", given(a=1))
        assert status == 200
        assert server.came[0].path == "http://bot.example/a"
    else:
        # Past the proxy there is no such host.
        with pytest.raises(NetworkError):
            await request_class.do_request("http://bot.example/a", "POST", given(a=1))
        assert server.came == []
