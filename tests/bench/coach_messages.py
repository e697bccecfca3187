"""How many messages a coach of 40 clients gets in an ordinary month.

``python -m tests.bench.coach_messages``. A day's list is one message. Alerts and what follows from
a client's own words are counted apart: they come at any time, and must.
"""

from bot.cli.start import one_thread_for_arithmetic

one_thread_for_arithmetic()

import asyncio  # noqa: E402
import random  # noqa: E402
from collections import Counter  # noqa: E402
from datetime import datetime  # noqa: E402
from pathlib import Path  # noqa: E402
from tempfile import TemporaryDirectory  # noqa: E402
from typing import Annotated  # noqa: E402
from zoneinfo import ZoneInfo  # noqa: E402

import typer  # noqa: E402
from rich.console import Console  # noqa: E402
from rich.progress import Progress  # noqa: E402

from tests.support.practice import NEW_ZEALAND, Practice, practice  # noqa: E402

ANSWERS_OF_DAYS = 0.8
"""Share of mornings that are answered (ours: an ordinary week)."""

LOW_MORNINGS = 0.1
WRITES = 1 / 60
"""Share of days on which a client writes to the coach."""


def main(
    clients: Annotated[int, typer.Option(help="How many clients.")] = 40,
    days: Annotated[int, typer.Option(help="How many days.")] = 30,
    seed: Annotated[int, typer.Option(help="The same seed gives the same month.")] = 1,
) -> None:
    """Count by day what goes out to the coach."""
    asyncio.run(_month(clients, days, random.Random(seed)))


async def _month(clients: int, days: int, chance: random.Random) -> None:
    start = datetime(2026, 3, 2, 5, 0, tzinfo=ZoneInfo(NEW_ZEALAND))
    with TemporaryDirectory() as home, Progress() as progress:
        bar = progress.add_task("days", total=days)
        async with practice(Path(home), start) as running:
            await running.coach("Rua")
            await running.says("rua", "settings")
            await running.taps("rua", "Time of my list", "07:00")
            names = [f"Client{number}" for number in range(clients)]
            for name in names:
                await running.client(name)
            counted: list[int] = []
            apart: list[int] = []
            for _ in range(days):
                before = len(running.channel.sent)
                await _day(running, names, chance)
                told = [one for one in running.channel.sent[before:] if one.address == "rua"]
                words = [one for one in told if "writes:" in one.outgoing.text]
                alerts = [one for one in told if one.outgoing.text.startswith("!")]
                counted.append(len(told) - len(words) - len(alerts))
                apart.append(len(words) + len(alerts))
                progress.advance(bar)
    console = Console()
    console.print(f"{clients} clients, {days} days: messages a day outside alerts and words:")
    console.print(f"most {max(counted)}, mean {sum(counted) / days:.1f}; {Counter(counted)}")
    console.print(f"alerts and words a day: mean {sum(apart) / days:.1f}")


async def _day(running: Practice, names: list[str], chance: random.Random) -> None:
    """The morning list at seven, the check-ins after it, now and then a word."""
    await running.at("07:30")
    for name in names:
        who = name.lower()
        if chance.random() >= ANSWERS_OF_DAYS:
            continue
        await running.says(who, "check-in")
        low = chance.random() < LOW_MORNINGS
        score = "2" if low else "4"
        await running.taps(who, "None of these", score, score, score, score, score)
        if chance.random() < WRITES:
            await running.says(who, "message")
            await running.says(who, "Can we talk about my plan on Friday?")


if __name__ == "__main__":
    typer.run(main)
