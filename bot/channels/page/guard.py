"""Keeps other sites away from the trial page, and the page away from other sites.

A page on loopback can be reached by every site open in the same browser. So: only loopback names
as host (else a site could point its own name at us), only requests from the page itself, and a
content policy that lets the page load nothing from elsewhere.
"""

from collections.abc import Mapping
from urllib.parse import urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import JSONResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

LOOPBACK = ("127.0.0.1", "localhost", "::1")

SAFE_METHODS = ("GET", "HEAD")

POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; "
    "connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)

HEADERS: Mapping[str, str] = {
    "Content-Security-Policy": POLICY,
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
}


class PageGuard:
    """Refuses requests that the page did not make; adds the policy to every answer."""

    def __init__(self, app: ASGIApp, hosts: tuple[str, ...] = ()) -> None:
        """``hosts``: names beside the loopback ones by which the page may be asked for."""
        self._app = app
        self._hosts = (*LOOPBACK, *hosts)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Handle one request."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return

        async def send_with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in HEADERS.items():
                    headers[name] = value
                headers.setdefault("Cache-Control", "no-store")
            await send(message)

        if is_from_the_page(str(scope["method"]), Headers(scope=scope), self._hosts):
            await self._app(scope, receive, send_with_headers)
        else:
            await JSONResponse({"refused": "origin"}, 403)(scope, receive, send_with_headers)


def is_from_the_page(method: str, headers: Headers, hosts: tuple[str, ...]) -> bool:
    """Whether the page itself, or somebody typing its address, made this request.

    Args:
        hosts: the names by which the page may be asked for.
    """
    host = headers.get("host", "")
    if _name_in(host) not in hosts:
        return False
    origin = headers.get("origin")
    same_origin = origin is not None and origin.partition("://")[2] == host
    if method not in SAFE_METHODS:
        # A browser always names the origin of a POST; without one it is not the page.
        is_json = headers.get("content-type", "").split(";")[0] == "application/json"
        return same_origin and is_json
    site = headers.get("sec-fetch-site", "none")
    return (origin is None or same_origin) and site in ("none", "same-origin")


def _name_in(host: str) -> str | None:
    """The name that a Host header asks for; ``None`` when it is none, or says more than a name."""
    try:
        asked = urlsplit(f"//{host}")
        _ = asked.port
    except ValueError:
        return None
    return asked.hostname if asked.netloc == host and "@" not in host else None
