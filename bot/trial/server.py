"""The trial page's server: the page, its state, what people send, and the clock.

It listens on loopback and trusts nobody but its own page: each request must name a loopback host
and come from the page itself, so that no other site open in the same browser can use it.
"""

import asyncio
import json
import re
from collections.abc import AsyncIterator, Awaitable, Callable, Mapping
from dataclasses import astuple, dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from starlette.applications import Starlette
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import FileResponse, JSONResponse, Response, StreamingResponse
from starlette.routing import Mount, Route
from starlette.staticfiles import StaticFiles

from bot.channels.page.channel import NAME, Bell
from bot.channels.page.guard import PageGuard
from bot.channels.page.view import entries, next_moments, phone_value
from bot.clock import Clock
from bot.delivery.channel import Accept
from bot.errors import StoreError
from bot.messages import Incoming, IncomingKind, storable
from bot.storage import shown
from bot.storage.database import Database
from bot.storage.people import Address
from bot.storage.unit import UnitOfWork

PAGE = Path(__file__).parents[2] / "templates" / "page"

ADDRESS = re.compile(r"phone-[a-z0-9-]{1,48}")
UPDATE_ID = re.compile(r"[0-9a-f-]{32,36}")
CONTENT_ID = re.compile(r"[A-Za-z0-9._-]{1,128}")
LONGEST_BODY = 100_000
"""Bytes of one request; far more than anybody types."""

LONGEST_TAP = 64
LONGEST_NUMBER = 9
SHOWN_AT_FIRST = 60
SHOWN_AT_MOST = 5_000
MOST_STREAMS = 40
"""Open pages; each looks at the store now and then, and hundreds would keep it from people."""

LOOK_EVERY_SECONDS = 0.5
"""How often an open page looks for something new by itself; the bell makes it look at once."""

AFTER_THE_BELL_SECONDS = 0.05
"""The bell rings when a message is handed over; its row says so one commit later."""

TEN_MINUTES = timedelta(minutes=10)


@dataclass(frozen=True, slots=True)
class Content:
    """A picture or a document."""

    data: bytes
    media_type: str


@dataclass(frozen=True, slots=True)
class PageServices:
    """What the page needs of the program.

    Attributes:
        accept: puts a batch on the disk (see :data:`bot.delivery.channel.Accept`).
        clock: the program's clock.
        move_clock: goes to a later moment, visiting each due moment before it in order, and
            returns when everything due by then has been done and sent.
        load_content: the picture or document of a content id; ``None`` when there is none.
        healthy: whether the program can do its work now.
        bell: rung when something new is on a phone; closed when the program stops.
    """

    accept: Accept
    database: Database
    clock: Clock
    move_clock: Callable[[datetime], Awaitable[None]]
    load_content: Callable[[str], Awaitable[Content | None]]
    healthy: Callable[[], Awaitable[bool]]
    bell: Bell


def page_app(services: PageServices, hosts: tuple[str, ...] = ()) -> Starlette:
    """The trial page as an ASGI application.

    Args:
        hosts: host names beside the loopback ones by which the page may be asked for.
    """
    page = _Page(services)
    routes = [
        Route("/", page.index),
        Route("/state", page.state),
        Route("/events", page.events),
        Route("/send", page.send, methods=["POST"]),
        Route("/clock", page.clock, methods=["POST"]),
        Route("/content/{content_id}", page.content),
        Route("/health", page.health),
        Mount("/static", StaticFiles(directory=PAGE)),
    ]
    return Starlette(routes=routes, middleware=[Middleware(PageGuard, hosts=hosts)])


class _Page:
    """The page's answers, one method a route."""

    def __init__(self, services: PageServices) -> None:
        self._services = services
        self._moving = asyncio.Lock()

    async def index(self, _request: Request) -> Response:
        """The page itself."""
        return FileResponse(PAGE / "index.html", media_type="text/html")

    async def state(self, request: Request) -> Response:
        """Everything that the page shows: people, and the chats of the named phones."""
        addresses = _addresses(request)
        if addresses is None:
            return _refusal("phone")
        asked = request.query_params.get("most", "")
        counted = asked.isdecimal() and len(asked) <= LONGEST_NUMBER
        most = min(int(asked), SHOWN_AT_MOST) if counted else SHOWN_AT_FIRST
        now = self._services.clock.now()

        def read(unit: UnitOfWork) -> dict[str, Any]:
            return {
                "mark": _mark_text(shown.mark(unit, NAME)),
                "now": now.isoformat(),
                "phones": [phone_value(phone, now) for phone in shown.phones(unit, NAME)],
                "chats": {one: _chat_value(unit, one, most) for one in addresses},
            }

        try:
            return JSONResponse(await self._services.database.run(read))
        except StoreError:
            return _refusal("store", 503)

    async def events(self, _request: Request) -> Response:
        """A stream that says "something is new"; it ends when the program stops."""
        if self._services.bell.waiting >= MOST_STREAMS:
            return _refusal("streams", 503)
        return StreamingResponse(self._news(), media_type="text/event-stream")

    async def send(self, request: Request) -> Response:
        """Take what a person typed or tapped; answers 200 only once it is on the disk."""
        body = await _body(request)
        incoming = None if body is None else _incoming(body, self._services.clock.now())
        if incoming is None:
            return _refusal("message")
        try:
            await self._services.accept([incoming])
        except StoreError:
            return _refusal("store", 503)
        self._services.bell.ring()
        return JSONResponse({"accepted": incoming.update_id})

    async def clock(self, request: Request) -> Response:
        """Move the clock: ``{"to": "ten-minutes" | "morning" | "session", "phone": address}``."""
        body = await _body(request)
        if body is None:
            return _refusal("clock")
        async with self._moving:
            try:
                to = await self._services.database.run(lambda unit: self._moment(unit, body))
                if to is None:
                    return _refusal("clock")
                await self._services.move_clock(to)
            except StoreError:
                return _refusal("store", 503)
        self._services.bell.ring()
        return JSONResponse({"now": self._services.clock.now().isoformat()})

    async def content(self, request: Request) -> Response:
        """A picture or document; its id names its content, so it never changes."""
        content_id = request.path_params["content_id"]
        if not CONTENT_ID.fullmatch(content_id):
            return _refusal("content", 404)
        found = await self._services.load_content(content_id)
        if found is None:
            return _refusal("content", 404)
        return Response(
            found.data,
            media_type=found.media_type,
            headers={"Cache-Control": "private, max-age=86400, immutable"},
        )

    async def health(self, _request: Request) -> Response:
        """200 when the program can do its work, 503 when not."""
        healthy = await self._services.healthy()
        return JSONResponse({"healthy": healthy}, 200 if healthy else 503)

    async def _news(self) -> AsyncIterator[str]:
        bell, known = self._services.bell, ""
        rung = bell.join()
        try:
            while not bell.closed:
                current = await self._look()
                if current != known:
                    known = current
                    yield f"data: {json.dumps({'mark': known})}\n\n"
                rung.clear()
                try:
                    async with asyncio.timeout(LOOK_EVERY_SECONDS):
                        await rung.wait()
                    await asyncio.sleep(AFTER_THE_BELL_SECONDS)
                except TimeoutError:
                    continue
        finally:
            bell.leave(rung)

    async def _look(self) -> str:
        try:
            mark = await self._services.database.run(lambda unit: shown.mark(unit, NAME))
        except StoreError:
            return "store"
        return _mark_text(mark)

    def _moment(self, unit: UnitOfWork, body: Mapping[str, Any]) -> datetime | None:
        """The moment that a request to move the clock names."""
        now = self._services.clock.now()
        if body.get("to") == "ten-minutes":
            return now + TEN_MINUTES
        for phone in shown.phones(unit, NAME):
            if phone.address == body.get("phone"):
                zone = ZoneInfo(phone.person.zone)
                morning, session = next_moments(phone.schedule, zone, now)
                return {"morning": morning, "session": session}.get(str(body.get("to")))
        return None


def _chat_value(unit: UnitOfWork, address: str, most: int) -> dict[str, Any]:
    chat = shown.chat(unit, Address(NAME, address), most)
    return {"entries": entries(chat), "more": chat.more}


def _mark_text(mark: shown.Mark) -> str:
    return ".".join(str(part) for part in astuple(mark))


def _addresses(request: Request) -> list[str] | None:
    """The phones asked for, ``None`` when one is no phone."""
    found = request.query_params.getlist("phone")
    return found if len(found) <= 2 and all(ADDRESS.fullmatch(one) for one in found) else None


async def _body(request: Request) -> Mapping[str, Any] | None:
    """A JSON object, ``None`` for anything else."""
    raw = bytearray()
    async for part in request.stream():
        raw += part
        if len(raw) > LONGEST_BODY:
            return None
    try:
        value = json.loads(raw)
    except (ValueError, RecursionError):
        return None
    return value if isinstance(value, Mapping) else None


def _incoming(body: Mapping[str, Any], now: datetime) -> Incoming | None:
    """What a person sent, ``None`` when the request makes no sense."""
    parts = {
        key: body.get(key, "") for key in ("phone", "update", "kind", "text", "tap", "message")
    }
    if not all(isinstance(part, str) for part in parts.values()):
        return None
    kinds = (IncomingKind.TEXT, IncomingKind.TAP, IncomingKind.UNREADABLE)
    sensible = (
        ADDRESS.fullmatch(parts["phone"])
        and UPDATE_ID.fullmatch(parts["update"])
        and parts["kind"] in kinds
        and len(storable(parts["tap"]).encode()) <= LONGEST_TAP
        and (parts["kind"] != IncomingKind.TEXT or parts["text"].strip())
        and (parts["kind"] != IncomingKind.TAP or parts["tap"])
    )
    if not sensible:
        return None
    return Incoming(
        channel=NAME,
        address=parts["phone"],
        update_id=parts["update"],
        kind=IncomingKind(parts["kind"]),
        text=storable(parts["text"]),
        tap=storable(parts["tap"]),
        message_id=storable(parts["message"]),
        received_at=now,
    )


def _refusal(what: str, status: int = 400) -> JSONResponse:
    """A refusal by code; the page has the words."""
    return JSONResponse({"refused": what}, status)
