"""HTTP for the library's Bot, by aiohttp.

The library's own client spends several times as much processor time on a request
(tests/bench/telegram_road.py); its place is made to be taken by another.
"""

import warnings
from collections.abc import Mapping
from datetime import timedelta
from functools import cache
from http import HTTPStatus
from typing import Any
from urllib.parse import urlsplit
from urllib.request import getproxies, proxy_bypass

import aiohttp
from telegram.error import NetworkError, RetryAfter, TelegramError, TimedOut
from telegram.request import BaseRequest, RequestData

from bot.channels.telegram.batches import updates_one_by_one

DEFAULT: Any = BaseRequest.DEFAULT_NONE
"""The library's word for a time that a call leaves open."""


class Request(BaseRequest):
    """Requests to the Bot API server over connections that are kept open."""

    def __init__(
        self,
        *,
        connections: int,
        connect_seconds: float = 5.0,
        read_seconds: float = 10.0,
        write_seconds: float = 10.0,
    ) -> None:
        """Open nothing yet.

        Args:
            connections: open at one time; further requests wait for one.
            connect_seconds: for a free connection, and again for opening one.
            read_seconds: of silence while the answer is awaited, unless a call says otherwise.
            write_seconds: for handing the request over, unless a call says otherwise.
        """
        self._connections = connections
        self._connect_seconds = connect_seconds
        self._read_seconds = read_seconds
        self._write_seconds = write_seconds
        self._client: aiohttp.ClientSession | None = None

    @property
    def read_timeout(self) -> float | None:
        """Seconds that an answer may take, unless a call says otherwise."""
        return self._read_seconds

    async def initialize(self) -> None:
        """Nothing: the client is made with the first request, on the loop that uses it."""

    async def shutdown(self) -> None:
        """Close all connections."""
        client, self._client = self._client, None
        if client is not None:
            await client.close()

    async def do_request(
        self,
        url: str,
        method: str,
        request_data: RequestData | None = None,
        read_timeout: Any = DEFAULT,
        write_timeout: Any = DEFAULT,
        connect_timeout: Any = DEFAULT,
        pool_timeout: Any = DEFAULT,
    ) -> tuple[int, bytes]:
        """One request; status and body.

        Raises:
            NetworkError: no answer came; the error's kind is named, never the address with the
                token in it.
            RetryAfter: the platform names a wait.
            TimedOut: an answer did not come in time.
        """
        client = self._client = self._client or self._made()
        wait = self._timeouts(read_timeout, write_timeout, connect_timeout, pool_timeout)
        try:
            async with client.request(
                method,
                url,
                data=_body(request_data),
                timeout=wait,
                allow_redirects=False,
                proxy=_proxy_to(*urlsplit(url)[:2]),
            ) as answer:
                status, body = answer.status, await answer.read()
        except TimeoutError:
            raise TimedOut from None
        except (aiohttp.ClientError, OSError) as error:
            raise NetworkError(type(error).__name__) from None
        if status == HTTPStatus.TOO_MANY_REQUESTS:
            self._raise_flood(body)
        return status, body

    @staticmethod
    def parse_json_payload(payload: bytes) -> dict[str, Any]:
        """The platform's answer; updates that cannot be read keep their id, the others stay whole.

        Raises:
            TelegramError: it is no answer.
        """
        try:
            return BaseRequest.parse_json_payload(payload)
        except (TelegramError, RecursionError):
            updates = updates_one_by_one(payload.decode("utf-8", "replace"))
            if updates is None:
                raise TelegramError("Invalid server response") from None
            return {"ok": True, "result": updates}

    def _made(self) -> aiohttp.ClientSession:
        return aiohttp.ClientSession(
            connector=aiohttp.TCPConnector(limit=self._connections),
            headers={"User-Agent": self.USER_AGENT},
        )

    def _timeouts(self, read: Any, write: Any, connect: Any, pool: Any) -> aiohttp.ClientTimeout:
        to_read = _given(read, self._read_seconds)
        to_write = _given(write, self._write_seconds)
        to_connect = _given(connect, self._connect_seconds)
        to_wait = _given(pool, self._connect_seconds)
        return aiohttp.ClientTimeout(
            total=to_wait + to_connect + to_write + to_read,
            connect=to_wait + to_connect,
            sock_connect=to_connect,
            sock_read=to_read,
        )

    def _raise_flood(self, body: bytes) -> None:
        """The library warns of its own plans whenever it says how long to wait. Nobody can act on
        that at run time, and a log full of it hides what matters."""
        seconds = self.parse_json_payload(body).get("parameters", {}).get("retry_after")
        if seconds:
            with warnings.catch_warnings():
                warnings.simplefilter("ignore")
                raise RetryAfter(timedelta(seconds=seconds))


def _given(seconds: Any, otherwise: float) -> float:
    """A time-out in seconds; never None, which the library takes for no time-out."""
    return otherwise if seconds is DEFAULT or seconds is None else float(seconds)


@cache
def _proxy_to(scheme: str, host: str) -> str | None:
    """The proxy that the environment names for an address (HTTPS_PROXY, ALL_PROXY, NO_PROXY).

    The client could look itself, but reads a file in the home folder for each request when told to.
    """
    named = getproxies()
    return None if proxy_bypass(host) else named.get(scheme) or named.get("all")


def _body(given: RequestData | None) -> Mapping[str, str] | aiohttp.FormData | None:
    """A plain form; in parts when it holds files."""
    if given is None:
        return None
    if not given.contains_files:
        return given.json_parameters
    form = aiohttp.FormData()
    for name, value in given.json_parameters.items():
        form.add_field(name, value)
    for name, (file_name, content, mime) in given.multipart_data.items():
        form.add_field(name, content, filename=file_name, content_type=mime)
    return form
