"""The page while the practice is being made, until the trial page takes its place."""

from dataclasses import dataclass
from threading import Event

from starlette.applications import Starlette
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import FileResponse, JSONResponse, Response
from starlette.routing import Mount, Route
from starlette.staticfiles import StaticFiles
from starlette.types import ASGIApp, Receive, Scope, Send

from bot.channels.page.guard import PageGuard
from bot.errors import BotError
from bot.trial.server import PAGE


class BrokenOff(BotError):
    """The practice is not made to its end: the program was told to stop."""


@dataclass(slots=True)
class Making:
    """How far the practice is; written by the thread that makes it, read by the page.

    Attributes:
        done: things that the invented people have done.
        of: how many there are; 0 while it is not known.
    """

    stop: Event
    done: int = 0
    of: int = 0

    def seen(self, done: int, of: int) -> None:
        """Keep how far it is.

        Raises:
            BrokenOff: the program was told to stop.
        """
        if self.stop.is_set():
            raise BrokenOff("The practice was not made to its end.")
        self.done, self.of = done, of


class ChangingPage:
    """The page that is shown now, behind one server."""

    def __init__(self, first: ASGIApp) -> None:
        """``first``: until :attr:`now` is set to another."""
        self.now = first

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request with the page of this moment."""
        await self.now(scope, receive, send)


def waiting_page(making: Making) -> Starlette:
    """The waiting page as an ASGI application.

    It asks ``/making`` how far the practice is, and loads itself anew when nobody answers that any
    more: then the trial page is there.
    """

    async def index(_request: Request) -> Response:
        return FileResponse(PAGE / "waiting.html", media_type="text/html")

    async def progress(_request: Request) -> Response:
        return JSONResponse({"done": making.done, "of": making.of})

    async def health(_request: Request) -> Response:
        return JSONResponse({"healthy": False}, 503)

    routes = [
        Route("/", index),
        Route("/making", progress),
        Route("/health", health),
        Mount("/static", StaticFiles(directory=PAGE)),
    ]
    return Starlette(routes=routes, middleware=[Middleware(PageGuard)])
