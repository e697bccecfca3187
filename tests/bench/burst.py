"""A thousand texts at once from one chat, a sign among them, and a sign elsewhere.

    python -m tests.bench.burst [--texts 1000] [--sign-at 700]

The whole program runs in this process on a double of the platform, which hands the texts over as
fast as they are taken. Times are from the moment at which the program begins to fetch them. On a
machine that does other work the processor time tells more than the clock.
"""

# ruff: noqa: E402 - numpy, which the program imports, reads the environment only once
from bot.cli.start import one_thread_for_arithmetic

one_thread_for_arithmetic()

import argparse
import asyncio
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path

from rich.console import Console
from sqlmodel import func, select

from bot.storage.tables import InboxRow
from bot.storage.unit import UnitOfWork
from tests.doubles.bot_api import BotApi
from tests.doubles.running_app import Running, running_app, told, until_healthy
from tests.doubles.telegram_practice import COACH_CHAT, FIRST_CLIENT_CHAT, make_practice

MARY, HEMI = FIRST_CLIENT_CHAT, FIRST_CLIENT_CHAT + 1
ADVICE = "Call 111 now"
MOST_SECONDS = 600.0


async def burst(home: Path, texts: int, sign_at: int) -> Sequence[str]:
    """Let them arrive; gives what was measured, a sentence each."""
    make_practice(home, clients=2)
    async with BotApi() as api:
        for chat in (MARY, HEMI, COACH_CHAT):
            api.chat(chat)
        for place in range(texts):
            api.say(MARY, "my chest hurts" if place == sign_at else f"we walked {place} steps")
        api.say(HEMI, "I can't breathe")
        async with running_app(home, api, slow_after=60) as running:
            begun, used = time.monotonic(), time.process_time()

            async def first(chat: int, words: str) -> float:
                await api.until(lambda: told(api, chat, words), MOST_SECONDS)
                return time.monotonic() - begun

            among, elsewhere = await asyncio.gather(first(MARY, ADVICE), first(HEMI, ADVICE))
            kept = await _all_done(running, texts + 1)
            took, worked = time.monotonic() - begun, time.process_time() - used
    return (
        f"the sign among them was answered after {among:.1f} s, elsewhere {elsewhere:.1f} s",
        f"all {kept} texts were kept and dealt with after {took:.1f} s",
        f"processor time of all that, the platform's double with it: {worked:.1f} s",
        f"replies to that chat: {len(api.chat(MARY).said)}",
    )


async def _all_done(running: Running, number: int) -> int:
    """Wait until all are worked off, and all that waits is sent."""

    def done(unit: UnitOfWork) -> int:
        return unit.session.exec(select(func.count()).where(InboxRow.status == "done")).one()

    await until_healthy(running)
    async with asyncio.timeout(MOST_SECONDS):
        while (kept := await running.app.database.read(done)) < number:
            await running.app.engine.settle()
    await running.app.settle()
    return kept


def main() -> None:
    """Run it and print what was measured."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--texts", type=int, default=1000)
    asked.add_argument("--sign-at", type=int, default=700)
    given = asked.parse_args()
    if not 0 <= given.sign_at < given.texts:
        asked.error("the sign stands among the texts: --sign-at is 0 or more, and below --texts")
    with tempfile.TemporaryDirectory() as folder:
        for line in asyncio.run(burst(Path(folder), given.texts, given.sign_at)):
            Console().print(line)


if __name__ == "__main__":
    main()
