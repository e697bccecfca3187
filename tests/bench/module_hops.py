"""How many calls lead from one module of ours into another, on six ways through the house.

    python -m tests.bench.module_hops

A morning's prompt, a tap on it, ordinary words, a warning sign in words, "easier" on a card, and
the picture of that card: each done once after a first time has filled the caches.
"""

import asyncio
import sys
import tempfile
import threading
from collections.abc import Awaitable, Callable
from datetime import datetime
from pathlib import Path
from types import CodeType, FrameType
from typing import Any
from zoneinfo import ZoneInfo

from rich.console import Console
from rich.table import Table

from tests.support.practice import NEW_ZEALAND, Practice, practice

ROOT = Path(__file__).parents[2]
OURS = tuple(f"{ROOT / package}/" for package in ("core", "bot"))
MONDAY_EVENING = datetime(2026, 3, 2, 18, 0, tzinfo=ZoneInfo(NEW_ZEALAND))


class Hops:
    """Counts calls whose caller and callee are both ours, in different files, while it is on."""

    def __init__(self) -> None:
        """Nothing is counted yet."""
        self.count = 0
        self.on = False

    def __call__(self, frame: FrameType, event: str, _arg: Any) -> None:
        """A profile event of any thread."""
        if not self.on or event != "call" or frame.f_back is None:
            return
        callee, caller = _file(frame.f_code), _file(frame.f_back.f_code)
        if callee and caller and callee != caller:
            self.count += 1

    async def of(self, act: Callable[[], Awaitable[Any]]) -> int:
        """The hops of one act, over all threads."""
        self.count, self.on = 0, True
        try:
            await act()
        finally:
            self.on = False
        return self.count


def _file(code: CodeType) -> str:
    return code.co_filename if code.co_filename.startswith(OURS) else ""


async def picture(village: Practice) -> None:
    """Draw the picture of the newest card."""
    content = next(
        one.outgoing.picture for one in reversed(village.channel.sent) if one.outgoing.picture
    )
    village.app.contents.load(content)


async def main() -> None:
    """Walk the six ways and print their counts."""
    table, hops = Table("way", "hops"), Hops()
    # Before the program starts its threads: each takes the function over when it begins.
    threading.setprofile(hops)
    sys.setprofile(hops)
    with tempfile.TemporaryDirectory() as home:
        async with practice(Path(home), MONDAY_EVENING) as village:
            await village.coach("Rua")
            await village.client("Mary")
            await village.at("07:00")
            await village.good_morning()
            await village.says("mary", "/today")
            await village.at("06:59")
            ways: dict[str, Callable[[], Awaitable[Any]]] = {
                "prompt": lambda: village.at("07:00"),
                "tap": lambda: village.taps("mary", "None of these"),
                "ordinary words": lambda: village.says("mary", "lovely weather here today"),
            }
            for name, act in ways.items():
                table.add_row(name, str(await hops.of(act)))
            await village.taps("mary", "4", "4", "4", "4", "4")
            await village.says("mary", "/today")
            await village.taps("mary", "Start", "I am ready", "Done", "Done")
            await village.taps("mary", "Easier")
            easier = await hops.of(lambda: village.taps("mary", "Easier"))
            table.add_row("easier", str(easier))
            table.add_row("its picture", str(await hops.of(lambda: picture(village))))
            sign = await hops.of(lambda: village.says("mary", "my chest feels tight"))
            table.add_row("warning sign", str(sign))
    Console().print(table)


if __name__ == "__main__":
    asyncio.run(main())
