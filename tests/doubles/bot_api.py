"""A double of Telegram's Bot API: HTTP on real sockets, strict to the documentation.

It keeps chats, checks every request, and breaks things when told to: floods (429), bad gateways
(502), time-outs, connections cut before or after a request took effect, slow answers.
"""

import asyncio
import time
from collections.abc import Callable
from dataclasses import dataclass
from enum import Enum, auto
from typing import Any, Self

from tests.doubles.bot_api_chats import Chat, Chats
from tests.doubles.bot_api_methods import USERNAME, Methods
from tests.doubles.bot_api_rules import PARAMETERS, Refused
from tests.doubles.http_server import CutConnection, HttpAnswer, HttpRequest, HttpServer

TOKEN = "123456:TEST-token_of-the-double"
__all__ = ["TOKEN", "USERNAME", "BotApi", "Call", "Fault", "Trouble"]


class Trouble(Enum):
    """What can go wrong on purpose."""

    FLOOD = auto()  # 429 with retry_after
    BAD_GATEWAY = auto()  # 502, nothing done
    CUT_BEFORE = auto()  # the connection breaks, nothing done
    CUT_AFTER = auto()  # done, but the connection breaks before the answer
    NO_ANSWER = auto()  # done, but no answer ever comes
    SLOW = auto()  # the answer comes late


@dataclass
class Fault:
    """Trouble with the next ``times`` requests of a method, to one chat or to any."""

    trouble: Trouble
    method: str = "sendMessage"
    chat_id: int | None = None
    times: int = 1
    seconds: float = 1.0


@dataclass(frozen=True)
class Call:
    """A request that was answered or had its effect."""

    method: str
    parameters: dict[str, str]
    at: float
    ok: bool

    @property
    def chat_id(self) -> int:
        """The chat it was for; 0 for none."""
        return int(self.parameters.get("chat_id", "0"))


class BotApi:
    """The platform. ``complaints`` lists what the documentation does not allow."""

    def __init__(self, token: str = TOKEN, port: int = 0) -> None:
        self.token = token
        self.chats = Chats()
        self.calls: list[Call] = []
        self.complaints: list[str] = []
        self.faults: list[Fault] = []
        self.methods = Methods(self.chats)
        self._server = HttpServer(self._answer, port)
        self._changed = asyncio.Event()
        self.poll_number = 0

    @property
    def address(self) -> str:
        """What to give as the address of the Bot API server."""
        return self._server.address

    async def start(self) -> None:
        """Listen."""
        await self._server.start()

    async def stop(self) -> None:
        """Stop listening."""
        await self._server.stop()

    async def __aenter__(self) -> Self:
        await self.start()
        return self

    async def __aexit__(self, *_error: object) -> None:
        await self.stop()

    def chat(self, chat_id: int) -> Chat:
        """A chat that a person has opened."""
        return self.chats.chat(chat_id)

    def say(self, chat_id: int, text: str) -> int:
        """A person writes; gives the update's id."""
        return self._woken(self.chats.say(chat_id, text))

    def send(self, chat_id: int, **content: Any) -> int:
        """A person sends something else than words."""
        return self._woken(self.chats.send(chat_id, **content))

    def tap(self, chat_id: int, label: str) -> int:
        """A person taps the latest button so labelled."""
        return self._woken(self.chats.tap(chat_id, label))

    def woken(self) -> None:
        """Something was added to ``chats`` directly."""
        self._changed.set()

    async def until(self, true: Callable[[], bool], seconds: float = 120.0) -> None:
        """Wait until ``true()`` holds; fail when it does not in time."""
        async with asyncio.timeout(seconds):
            while not true():
                self._changed.clear()
                await self._changed.wait()

    def sent(self, method: str = "sendMessage") -> list[Call]:
        """The calls of a method that took effect, in order."""
        return [call for call in self.calls if call.method == method and call.ok]

    def confirmed(self, update_id: int) -> bool:
        """Whether the bot has said that it has this update."""
        return update_id < self.chats.confirmed_until

    def _woken(self, update_id: int) -> int:
        self._changed.set()
        return update_id

    async def _answer(self, request: HttpRequest) -> HttpAnswer:
        try:
            result = await self._effect(request)
        except Refused as refusal:
            body: dict[str, Any] = {
                "ok": False,
                "error_code": refusal.status,
                "description": refusal.description,
            }
            if refusal.parameters:
                body["parameters"] = refusal.parameters
            return HttpAnswer(refusal.status, body)
        finally:
            self._changed.set()
        return HttpAnswer(200, {"ok": True, "result": result})

    async def _effect(self, request: HttpRequest) -> Any:
        bot, _, method = request.path.removeprefix("/bot").partition("/")
        if bot != self.token:
            raise Refused(401, "Unauthorized")
        known = PARAMETERS.get(method)
        if known is None:
            self.complaints.append(f"no method {method}")
            raise Refused(404, "Not Found")
        for name in set(request.parameters) - known:
            if not method.startswith("editMessageMedia"):
                self.complaints.append(f"{method} has no parameter {name}")
        fault = self._fault(method, int(request.parameters.get("chat_id", "0")))
        if fault is not None:
            await self._before(fault)
        try:
            if method == "getUpdates":
                result = await self._get_updates(request)
            else:
                result = getattr(self.methods, method)(request)
        except Refused as refusal:
            self._record(method, request, ok=False)
            if refusal.status == 400 and "not modified" not in refusal.description:
                self.complaints.append(f"{method}: {refusal.description}")
            raise
        self._record(method, request, ok=True)
        if fault is not None:
            await self._after(fault)
        return result

    def _record(self, method: str, request: HttpRequest, *, ok: bool) -> None:
        if method != "getUpdates":
            self.calls.append(Call(method, dict(request.parameters), time.monotonic(), ok))

    def _fault(self, method: str, chat_id: int) -> Fault | None:
        for fault in self.faults:
            if fault.method == method and fault.chat_id in (None, chat_id):
                fault.times -= 1
                if fault.times <= 0:
                    self.faults.remove(fault)
                return fault
        return None

    async def _before(self, fault: Fault) -> None:
        match fault.trouble:
            case Trouble.FLOOD:
                wait = int(fault.seconds)
                raise Refused(429, f"Too Many Requests: retry after {wait}", retry_after=wait)
            case Trouble.BAD_GATEWAY:
                raise Refused(502, "Bad Gateway")
            case Trouble.CUT_BEFORE:
                raise CutConnection

    async def _after(self, fault: Fault) -> None:
        match fault.trouble:
            case Trouble.CUT_AFTER:
                raise CutConnection
            case Trouble.NO_ANSWER:
                self._changed.set()
                await asyncio.sleep(3600)
            case Trouble.SLOW:
                self._changed.set()
                await asyncio.sleep(fault.seconds)

    async def _get_updates(self, request: HttpRequest) -> Any:
        if self.methods.webhook["url"]:
            raise Refused(
                409,
                "Conflict: can't use getUpdates method while webhook is active; use deleteWebhook"
                " to delete the webhook first",
            )
        self.poll_number += 1
        mine = self.poll_number
        self._changed.set()
        offset = int(request.parameters.get("offset", "0"))
        most = int(request.parameters.get("limit", "100"))
        ends = time.monotonic() + float(request.parameters.get("timeout", "0"))
        while True:
            if self.poll_number != mine:
                raise Refused(
                    409,
                    "Conflict: terminated by other getUpdates request; make sure that only one bot"
                    " instance is running",
                )
            updates = self.chats.take(offset, most)
            if updates or time.monotonic() >= ends:
                return updates
            self._changed.clear()
            try:
                async with asyncio.timeout(max(0.0, ends - time.monotonic())):
                    await self._changed.wait()
            except TimeoutError:
                continue
