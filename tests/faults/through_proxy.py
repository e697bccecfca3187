"""The webhook through the TLS proxy of ``deploy/Caddyfile``, with a service killed behind it.

    python -m tests.faults.through_proxy

A practice on PostgreSQL with a service and its standby; Caddy (the program ``caddy`` must be
installed) runs the project's own file with this machine's ports and a certificate of its own
authority. The platform's double brings updates over TLS by the practice's public name. Then the
working service is killed: the proxy asks ``/health`` and passes on to the one that took over.
Nothing else than ``/telegram`` may be reached from outside.
"""

import asyncio
import shutil
import ssl
import tempfile
import time
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path
from urllib.parse import urlsplit

import httpx
from rich.console import Console

from tests.doubles.bot_api import BotApi
from tests.doubles.free_port import free_port
from tests.doubles.postgres import postgres
from tests.doubles.serve_process import Service
from tests.doubles.telegram_practice import COACH_CHAT, FIRST_CLIENT_CHAT, make_practice
from tests.doubles.webhook_delivery import SECRET_HEADER, Delivery

NAME = "northside.example.org"
"""The practice's public name in the file."""

SECRET = "a-secret_of-ours"
SIGN = "my chest hurts and it goes to my arm"
PATIENCE = 60.0
"""Seconds for a start or a takeover: the proxy asks every two seconds who works."""

CADDYFILE = Path(__file__).parents[2] / "deploy" / "Caddyfile"


def file_for(ports: tuple[int, int], outside: int) -> str:
    """The project's file on this machine's ports, with a certificate of Caddy's own authority."""
    text = CADDYFILE.read_text("utf-8")
    for host, port in zip(("northside:8765", "northside-standby:8765"), ports, strict=True):
        assert host in text
        text = text.replace(host, f"127.0.0.1:{port}", 1)
    here = f"\n{{\n\tadmin off\n\tauto_https disable_redirects\n\thttps_port {outside}\n"
    text = text.replace("\n{\n", here, 1)
    return text.replace(f"{NAME} {{", f"{NAME} {{\n\ttls internal", 1)


@asynccontextmanager
async def proxy(
    folder: Path, ports: tuple[int, int], outside: int
) -> AsyncIterator[ssl.SSLContext]:
    """Caddy, running; gives what trusts its authority."""
    file = folder / "Caddyfile"
    file.write_text(file_for(ports, outside), "utf-8")
    environment = {"HOME": str(folder), "XDG_DATA_HOME": str(folder), "PATH": "/usr/bin:/bin"}
    with (folder / "caddy.log").open("w") as log:
        arguments = ("run", "--config", str(file), "--adapter", "caddyfile")
        process = await asyncio.create_subprocess_exec(
            "caddy", *arguments, env=environment, stdout=log, stderr=log
        )
        try:
            authority = folder / "caddy" / "pki" / "authorities" / "local" / "root.crt"
            async with asyncio.timeout(PATIENCE):
                while not authority.exists():  # noqa: ASYNC110 - another process writes it
                    await asyncio.sleep(0.1)
            yield ssl.create_default_context(cafile=str(authority))
        finally:
            process.terminate()
            await process.wait()


class ByName(Delivery):
    """Brings updates over TLS, by the practice's public name."""

    def __init__(self, api: BotApi, outside: int, trust: ssl.SSLContext) -> None:
        super().__init__(api, outside)
        self._base = f"https://127.0.0.1:{outside}"
        self.client = httpx.AsyncClient(verify=trust, timeout=30)

    async def asks(
        self, path: str, secret: str = "", method: str = "GET", body: object = None
    ) -> int:
        """One request from outside; gives the status, 0 for no answer."""
        headers = {"Host": NAME, **({SECRET_HEADER: secret} if secret else {})}
        named = {"sni_hostname": NAME}
        try:
            answer = await self.client.request(
                method, self._base + path, json=body, headers=headers, extensions=named
            )
        except httpx.HTTPError:
            return 0
        return answer.status_code

    async def _bring(self, client: httpx.AsyncClient, update: object, webhook: dict) -> int:
        return await self.asks(
            urlsplit(webhook["url"]).path, webhook["secret"], method="POST", body=update
        )


async def walk(folder: Path, address: str, console: Console) -> None:
    """The walk; an AssertionError or a TimeoutError says what did not hold."""
    ports, outside = (free_port(), free_port()), free_port()
    chats = make_practice(folder, clients=1, address=address)
    async with BotApi() as api:
        for chat in (*chats.clients, *chats.coaches):
            api.chat(chat)
        services = []
        for home, port in zip((folder / "one", folder / "two"), ports, strict=True):
            home.mkdir()
            services.append(
                Service(
                    home,
                    api.address,
                    DAYRUNG_PORT=str(port),
                    DAYRUNG_DATABASE=address,
                    DAYRUNG_TELEGRAM_WEBHOOK=f"https://{NAME}",
                    DAYRUNG_TELEGRAM_SECRET=SECRET,
                )
            )
        async with services[0] as working, proxy(folder, ports, outside) as trust:
            await working.until_it_says("running")
            async with services[1] as standby:
                await standby.until_it_says("waits, and")
                delivery = ByName(api, outside, trust)
                bringing = asyncio.create_task(delivery.run())
                api.say(FIRST_CLIENT_CHAT, SIGN)
                await api.until(lambda: bool(api.chat(COACH_CHAT).said), PATIENCE)
                console.print("a sign came over TLS and reached the coach")
                body = {"update_id": 999_999}
                assert await delivery.asks("/telegram", method="POST", body=body) == 403
                assert await delivery.asks("/telegram", "guessed", "POST", body) == 403
                for path in ("/health", "/metrics", "/"):
                    assert await delivery.asks(path) == 404, path
                console.print("without the secret 403; all but /telegram 404")
                await working.kill()
                killed, before = time.monotonic(), len(api.chat(COACH_CHAT).said)
                api.say(FIRST_CLIENT_CHAT, "I feel worse now, my arm hurts more")
                await api.until(lambda: len(api.chat(COACH_CHAT).said) > before, PATIENCE)
                took = time.monotonic() - killed
                console.print(f"after a kill the standby answered through the proxy: {took:.1f} s")
                bringing.cancel()
                log = (folder / "caddy.log").read_text("utf-8")
                assert SECRET not in log
                assert SIGN not in log
                console.print("the proxy's log holds neither the secret nor words")


def main() -> None:
    """Walk it and say what held."""
    console = Console()
    if shutil.which("caddy") is None:
        console.print("caddy is not installed")
        raise SystemExit(2)
    with tempfile.TemporaryDirectory() as folder, postgres(migrated=True) as address:
        asyncio.run(walk(Path(folder), address, console))


if __name__ == "__main__":
    main()
