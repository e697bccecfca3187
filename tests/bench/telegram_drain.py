"""Alerts while a morning's prompts go out, with the limits of sending as they are.

    python -m tests.bench.telegram_drain [--prompts 10000] [--alerts 200]

All check-ins fall due at once and drain at the platform's pace (30 messages a second, so 10,000
take 333 seconds). Meanwhile clients of as many coaches report chest pain, spread evenly over that
time: how many alerts are with the coach within one second? Afterwards as many clients report all
at once; their safety replies and alerts alone need two messages each.
"""

import argparse
import asyncio
import os
import tempfile
import time
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from rich.console import Console
from rich.progress import Progress
from rich.table import Table
from sqlmodel import col, update

from bot.storage.tables import ClientRow
from bot.storage.unit import UnitOfWork
from tests.bench.telegram_measure import percentile
from tests.bench.telegram_people import Reply, WatchedApi
from tests.doubles.serve_process import Service
from tests.doubles.telegram_practice import Chats, make_practice, open_store

PER_SECOND = 30.0
"""Messages that the platform takes; what the settings say when nothing is set."""

IN_TIME = 1.0
"""Seconds within which an alert should be handed over."""

WORDS = "I have chest pain right now"
FIRST_COACH = 900_001
PATIENCE = 120.0


@dataclass(frozen=True)
class Drained:
    """How it went; all times in seconds.

    Attributes:
        alerts: from the client's words to the coach's chat, while prompts drain.
        advice: from the client's words to the advice.
        took: until the last prompt was out.
        burst: the same as ``alerts`` where all report at once, after the drain.
    """

    prompts: int
    took: float
    alerts: list[float]
    advice: list[float]
    burst: list[float]


async def drain(given: argparse.Namespace, progress: Progress) -> Drained:
    """Run the service through a morning."""
    prompts, alerts = given.prompts, given.alerts
    spread = given.spread or prompts / PER_SECOND
    with tempfile.TemporaryDirectory() as folder:
        home = Path(folder)
        making = progress.add_task(f"{prompts} clients join", total=None)
        chats = await asyncio.to_thread(
            make_practice,
            home,
            clients=prompts + 2 * alerts,
            coaches=alerts,
            first_coach=FIRST_COACH,
        )
        # Coaches were added first, then clients: those who report are not asked to check in.
        await asyncio.to_thread(_fall_due, home, 3 * alerts + 1)
        progress.remove_task(making)
        async with WatchedApi() as api, Service(home, api.address) as service:
            for chat in (*chats.clients, *chats.coaches):
                api.chat(chat)
            await api.until(lambda: api.messages > 0, 120)
            start = time.perf_counter()
            reporting = asyncio.create_task(_report(api, chats, alerts, spread))
            bar = progress.add_task("prompts drain", total=prompts)
            prompted = [api.chat(chat) for chat in chats.clients[2 * alerts :]]
            while (out := sum(bool(chat.said) for chat in prompted)) < prompts:
                progress.update(bar, completed=out)
                if time.perf_counter() - start > 3 * prompts / PER_SECOND + PATIENCE:
                    raise AssertionError(f"only {out} prompts went out: {service.log[-2000:]}")
                await asyncio.sleep(0.5)
            took = time.perf_counter() - start
            told = await reporting
            bar = progress.add_task("all report at once", total=None)
            burst = await _all_at_once(api, chats, alerts)
    return Drained(prompts, took, [a for a, _ in told], [b for _, b in told], burst)


def _fall_due(home: Path, first: int) -> None:
    """The check-ins of all persons from this id on fall due now."""
    store = open_store(home)
    due = update(ClientRow).where(col(ClientRow.person_id) >= first)

    def change(unit: UnitOfWork) -> None:
        unit.session.exec(due.values(checkin_due_at=datetime.now(UTC)))
        unit.commit()

    store.run_now(change)
    store.close()


async def _report(
    api: WatchedApi, chats: Chats, alerts: int, spread: float
) -> list[tuple[float, float]]:
    """One client after another reports; seconds to the coach and to the advice."""
    start, told = time.perf_counter(), []
    for number in range(alerts):
        due = start + (number + 0.5) * spread / alerts
        await asyncio.sleep(max(0.0, due - time.perf_counter()))
        told.append(asyncio.create_task(_one(api, chats, number)))
    return await asyncio.gather(*told)


async def _all_at_once(api: WatchedApi, chats: Chats, alerts: int) -> list[float]:
    told = await asyncio.gather(*(_one(api, chats, alerts + number) for number in range(alerts)))
    return [to_coach for to_coach, _ in told]


async def _one(api: WatchedApi, chats: Chats, number: int) -> tuple[float, float]:
    """A client reports; seconds until the coach has the alert, and the client the advice."""
    client, coach = chats.clients[number], chats.coach_of[number]
    to_coach = api.waiting[coach] = Reply(1, time.perf_counter())
    advice = api.ask(client, lambda: api.say(client, WORDS), 1)
    async with asyncio.timeout(PATIENCE):
        await to_coach.complete.wait()
        await advice.complete.wait()
    return to_coach.first_after, advice.first_after


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """What may be chosen of the drain."""
    parser.add_argument(
        "--prompts", type=int, default=10_000, help="check-ins that fall due at once"
    )
    parser.add_argument("--alerts", type=int, default=200, help="clients who report, and coaches")
    parser.add_argument(
        "--spread", type=float, default=0.0, help="seconds over which they report; 0: the drain's"
    )


def show(given: argparse.Namespace, console: Console) -> None:
    """Measure and print."""
    with Progress(console=Console(stderr=True), transient=True) as progress:
        drained = asyncio.run(drain(given, progress))
    table = Table(title=f"Alerts while prompts drain (load {os.getloadavg()[0]:.1f})")
    table.add_column("")
    table.add_column("", justify="right")
    prompts, alerts = drained.prompts, drained.alerts
    floor = 2 * len(drained.burst) / PER_SECOND
    in_time = sum(delay <= IN_TIME for delay in alerts) / len(alerts)
    for name, value in (
        (f"{prompts} prompts, {PER_SECOND:.0f} a second: s", f"{drained.took:.0f}"),
        (f"{len(alerts)} alerts at the coach within {IN_TIME:.0f} s", f"{in_time:.1%}"),
        ("alert p50, p99, longest: s", _times(alerts)),
        ("advice p50, p99, longest: s", _times(drained.advice)),
        (f"all at once, last alert: s (floor {floor:.1f})", f"{max(drained.burst):.1f}"),
    ):
        table.add_row(name, value)
    console.print(table)


def _times(delays: list[float]) -> str:
    return ", ".join(f"{percentile(delays, share):.2f}" for share in (0.5, 0.99, 1.0))


def main() -> None:
    """The drain alone."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    add_arguments(parser)
    show(parser.parse_args(), Console())


if __name__ == "__main__":
    main()
