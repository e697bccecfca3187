"""A small HTTP/1.1 server on real sockets, for doubles that must also break connections."""

import asyncio
import contextlib
import json
from collections.abc import Awaitable, Callable, Mapping
from dataclasses import dataclass, field
from email.message import EmailMessage
from email.parser import BytesParser
from email.policy import HTTP
from typing import Any
from urllib.parse import parse_qsl


@dataclass(frozen=True)
class Upload:
    """A file in a request."""

    name: str
    content: bytes


@dataclass(frozen=True)
class HttpRequest:
    """One request with its parameters, however they were sent."""

    path: str
    headers: Mapping[str, str]
    parameters: Mapping[str, str]
    uploads: Mapping[str, Upload] = field(default_factory=dict)


@dataclass(frozen=True)
class HttpAnswer:
    """A JSON answer."""

    status: int
    body: Any


class CutConnection(Exception):
    """The connection breaks without an answer."""


Answer = Callable[[HttpRequest], Awaitable[HttpAnswer]]


class HttpServer:
    """Serves ``answer`` on a free port of the loopback interface, or on a given one."""

    def __init__(self, answer: Answer, port: int = 0) -> None:
        self._answer = answer
        self._port = port
        self._server: asyncio.Server | None = None
        self._open: set[asyncio.Task[None]] = set()

    @property
    def address(self) -> str:
        """Where it listens."""
        return f"http://127.0.0.1:{self._port}"

    async def start(self) -> None:
        """Listen."""
        self._server = await asyncio.start_server(self._serve, "127.0.0.1", self._port, limit=2**22)
        self._port = self._server.sockets[0].getsockname()[1]

    async def stop(self) -> None:
        """Stop listening and break what is open."""
        if self._server is not None:
            self._server.close()
        for task in self._open:
            task.cancel()
        await asyncio.gather(*self._open, return_exceptions=True)
        if self._server is not None:
            await self._server.wait_closed()

    async def _serve(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        task = asyncio.current_task()
        assert task is not None
        self._open.add(task)
        try:
            while (request := await read_request(reader)) is not None:
                answer = await self._answer(request)
                body = json.dumps(answer.body).encode()
                writer.write(
                    b"HTTP/1.1 %d X\r\nContent-Type: application/json\r\nContent-Length: %d\r\n\r\n"
                    % (answer.status, len(body))
                    + body
                )
                await writer.drain()
        except (CutConnection, ConnectionError, asyncio.IncompleteReadError):
            pass
        except asyncio.CancelledError:
            # The test is over; the task must end quietly, or the server waits for it.
            pass
        finally:
            self._open.discard(task)
            writer.close()
            with contextlib.suppress(ConnectionError, asyncio.CancelledError):
                await writer.wait_closed()


async def read_request(reader: asyncio.StreamReader) -> HttpRequest | None:
    """The next request; ``None`` when the connection ends."""
    try:
        head = await reader.readuntil(b"\r\n\r\n")
    except asyncio.IncompleteReadError:
        return None
    first, *lines = head.decode("latin-1").rstrip().split("\r\n")
    headers = {}
    for line in lines:
        name, _, value = line.partition(":")
        headers[name.strip().lower()] = value.strip()
    body = await reader.readexactly(int(headers.get("content-length", "0")))
    path, _, query = first.split(" ")[1].partition("?")
    parameters, uploads = _body(headers.get("content-type", ""), body)
    return HttpRequest(path, headers, {**dict(parse_qsl(query)), **parameters}, uploads)


def _body(kind: str, body: bytes) -> tuple[dict[str, str], dict[str, Upload]]:
    if kind.startswith("application/json"):
        given = json.loads(body)
        return {
            key: value if isinstance(value, str) else json.dumps(value)
            for key, value in given.items()
        }, {}
    if kind.startswith("multipart/form-data"):
        return _multipart(kind, body)
    return dict(parse_qsl(body.decode(), keep_blank_values=True)), {}


def _multipart(kind: str, body: bytes) -> tuple[dict[str, str], dict[str, Upload]]:
    message = BytesParser(policy=HTTP).parsebytes(
        b"Content-Type: " + kind.encode() + b"\r\n\r\n" + body
    )
    assert isinstance(message, EmailMessage)
    parameters: dict[str, str] = {}
    uploads: dict[str, Upload] = {}
    for part in message.iter_parts():
        name = str(part.get_param("name", header="content-disposition"))
        content = part.get_payload(decode=True)
        assert isinstance(content, bytes)
        file = part.get_filename()
        if file is not None:
            uploads[name] = Upload(file, content)
        else:
            parameters[name] = content.decode()
    return parameters, uploads
