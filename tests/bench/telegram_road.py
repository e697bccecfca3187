"""The whole Telegram path, beside a bare echo bot, on the same Bot API double in the same run.

    python -m tests.bench.telegram_road [--rounds 8] [--seconds 30] [--prompts 10000]
                                        [--clients 120]

1. Throughput: people who tap and type (a check-in, today's movements, ordinary words) and wait for
   each reply, twice 60 of them, each half's updates at once. The bots get a process of their own
   each, the double and the people this one. Updates a second and processor time an update, against
   an echo bot with the library's default request class: once with texts only (one request an
   update), once with taps too (answered and edited, two requests an update, as ours must).
2. Delay: 30 updates a second; from the person's act to the first message of the reply.
3. Drain (tests.bench.telegram_drain): alerts while a morning's prompts go out; 0 prompts leave it
   out.

`--unsealed` adds the service once more with words and answers left as they are: what sealing costs.
In 1 and 2 the limits of sending (30 messages a second, one a second in a chat) are raised for the
double. A first round warms up each bot and is not counted: it draws the
pictures, weighs the bodies and compiles the templates. Each bot's figures are printed as soon as
they are there. On a busy machine fewer clients (a multiple of two) and one round still give the
processor time an update beside the echo's, in a minute or two; 120 are the figures to publish.
"""

import argparse
import asyncio
import os
import tempfile
import time
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from rich.console import Console
from rich.progress import Progress
from rich.table import Table

from tests.bench import telegram_drain
from tests.bench.telegram_measure import EchoProcess, cpu_seconds, percentile
from tests.bench.telegram_people import (
    ECHOED,
    ECHOED_MIX,
    JOINED,
    ROUND,
    Client,
    Step,
    WatchedApi,
    in_waves,
    paced,
)
from tests.doubles.serve_process import Service
from tests.doubles.telegram_practice import FIRST_CLIENT_CHAT, make_practice

PER_SECOND = 30.0
NO_LIMITS = {"DAYRUNG_SENDS_PER_SECOND": "100000", "DAYRUNG_SECONDS_BETWEEN_SENDS": "0"}


@dataclass(frozen=True)
class Measured:
    """What one bot did.

    Attributes:
        cpu_ms: processor time an update.
        requests: to the platform, an update, without the fetching of updates.
        delays: seconds, at the steady pace.
    """

    name: str
    per_second: float
    cpu_ms: float
    requests: float
    delays: Sequence[float]
    double_busy: float
    complaints: Sequence[str]


async def measure(
    name: str,
    api: WatchedApi,
    process_id: int,
    clients: Sequence[Client],
    given: argparse.Namespace,
    progress: Progress,
) -> Measured:
    """Throughput, then delays, of a bot that runs and has been warmed up."""
    steps = given.rounds * len(ROUND)
    total = steps * len(clients)
    bar = progress.add_task(f"{name}: throughput", total=total)
    requests, own_cpu = api.requests, time.process_time()
    cpu, start = cpu_seconds(process_id), time.perf_counter()
    await in_waves(clients, steps, lambda count: progress.advance(bar, count))
    took, cpu = time.perf_counter() - start, cpu_seconds(process_id) - cpu
    own_cpu, requests = time.process_time() - own_cpu, api.requests - requests
    bar = progress.add_task(f"{name}: delay", total=int(PER_SECOND * given.seconds))
    delays = await paced(clients, PER_SECOND, given.seconds, lambda n: progress.advance(bar, n))
    return Measured(
        name=name,
        per_second=total / took,
        cpu_ms=1000 * cpu / total,
        requests=requests / total,
        delays=delays,
        double_busy=own_cpu / took,
        complaints=api.complaints,
    )


async def echo(
    name: str, steps: Sequence[Step], given: argparse.Namespace, progress: Progress
) -> Measured:
    """The echo bot."""
    async with WatchedApi() as api, EchoProcess(api.address) as process:
        clients = [Client(api, FIRST_CLIENT_CHAT + n, steps) for n in range(given.clients)]
        await in_waves(clients, len(steps), lambda _: None)
        return await measure(name, api, process.process_id, clients, given, progress)


async def ours(
    given: argparse.Namespace, progress: Progress, name: str = "dayrung", first: str = ""
) -> Measured:
    """The service, on a new store.

    Args:
        first: Python code that its process runs before the program.
    """
    with tempfile.TemporaryDirectory() as folder:
        home = Path(folder)
        chats = make_practice(home, clients=given.clients)
        async with WatchedApi() as api, Service(home, api.address, first, **NO_LIMITS) as service:
            for chat in (*chats.clients, *chats.coaches):
                api.chat(chat)
            await api.until(lambda: bool(api.methods.commands), 60)
            clients = [Client(api, chat, JOINED) for chat in chats.clients]
            warm = len(JOINED) + len(ROUND)
            bar = progress.add_task(f"{name}: warming up", total=warm * len(clients))
            await in_waves(clients, len(JOINED), lambda n: progress.advance(bar, n))
            clients = [Client(api, chat, ROUND) for chat in chats.clients]
            await in_waves(clients, len(ROUND), lambda n: progress.advance(bar, n))
            return await measure(name, api, service.process_id, clients, given, progress)


UNSEALED = """
from bot.storage.encryption import Encryption
OPEN, sealed = "open:", Encryption.decrypt
def encrypt(self, text, *, keep=True):
    return OPEN + text if text else ""
def decrypt(self, token, *, keep=True):
    return token[len(OPEN):] if token.startswith(OPEN) else sealed(self, token, keep=keep)
Encryption.encrypt, Encryption.decrypt = encrypt, decrypt
"""
"""Words and answers are left open; looking chats up by a sealed address stays as it is."""


def as_table(rows: Sequence[Measured]) -> Table:
    """The figures, and ours in shares of each echo bot's."""
    table = Table(title=f"The Telegram path (load {os.getloadavg()[0]:.1f} on {os.cpu_count()})")
    for heading in ("", "updates/s", "CPU ms", "requests", "p50 ms", "p99 ms", "double busy"):
        table.add_column(heading, justify="right" if heading else "left")
    for row in rows:
        table.add_row(
            row.name,
            f"{row.per_second:.0f}",
            f"{row.cpu_ms:.2f}",
            f"{row.requests:.2f}",
            f"{1000 * percentile(row.delays, 0.5):.1f}",
            f"{1000 * percentile(row.delays, 0.99):.1f}",
            f"{row.double_busy:.0%}",
        )
    path = next(row for row in rows if row.name == "dayrung")
    for row in rows:
        if row is path:
            continue
        table.add_row(
            f"ratio to {row.name}",
            f"{path.per_second / row.per_second:.2f}",
            f"{row.cpu_ms / path.cpu_ms:.2f}",
        )
    return table


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--rounds", type=int, default=8, help="rounds of 12 updates a person")
    parser.add_argument("--seconds", type=float, default=30.0, help="length of the steady pace")
    parser.add_argument("--clients", type=int, default=120, help="people who tap and type")
    parser.add_argument("--unsealed", action="store_true", help="also without sealing anything")
    telegram_drain.add_arguments(parser)
    given = parser.parse_args()
    console = Console()
    with Progress(console=Console(stderr=True), transient=True) as progress:
        rows: list[Measured] = []
        for measured in (
            lambda: echo("echo, texts", ECHOED, given, progress),
            lambda: echo("echo, taps too", ECHOED_MIX, given, progress),
            lambda: ours(given, progress),
            *((lambda: ours(given, progress, "unsealed", UNSEALED),) if given.unsealed else ()),
        ):
            rows.append(asyncio.run(measured()))
            one = rows[-1]
            console.print(f"{one.name}: {one.per_second:.0f}/s, {one.cpu_ms:.2f} ms of processor")
    console.print(as_table(rows))
    for row in rows:
        for complaint in sorted(set(row.complaints)):
            console.print(f"{row.name}: {row.complaints.count(complaint)} times {complaint}")

    if given.prompts:
        telegram_drain.show(given, console)


if __name__ == "__main__":
    main()
