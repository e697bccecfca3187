"""Types forty hard messages at each step of check-in and session, and prints what went wrong.

    python -m tests.bench.hard_messages [STEP ...]

Some 560 clients of their own, a quarter of an hour. The messages and steps:
``tests/support/hard_messages.py``.
"""

import argparse
import asyncio
import sys
import tempfile
from datetime import datetime
from pathlib import Path
from zoneinfo import ZoneInfo

from rich.console import Console
from rich.progress import Progress

from tests.support.hard_messages import MESSAGES, STEPS, unmet
from tests.support.practice import NEW_ZEALAND, practice

EVENING = datetime(2026, 3, 2, 18, 0, tzinfo=ZoneInfo(NEW_ZEALAND))


async def walked(steps: list[str], progress: Progress) -> list[str]:
    """What was wrong, a line each."""
    bar = progress.add_task("messages", total=len(steps) * len(MESSAGES))
    wrong: list[str] = []
    for step in steps:
        with tempfile.TemporaryDirectory() as folder:
            async with practice(Path(folder), EVENING) as village:
                await village.coach("Rua")
                await village.at("07:00")
                for place, text in enumerate(MESSAGES):
                    wrong.append(await unmet(village, f"C{place}", step, text))
                    progress.advance(bar)
    return [one for one in wrong if one]


def main() -> int:
    """Walk, print, and give 1 where anything was wrong."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("steps", nargs="*", help="names of steps; none: all")
    steps = parser.parse_args().steps or list(STEPS)
    with Progress(console=Console(stderr=True), transient=True) as progress:
        wrong = asyncio.run(walked(steps, progress))
    for one in wrong:
        sys.stdout.write(one + "\n")
    sys.stdout.write(f"{len(steps) * len(MESSAGES)} typed, {len(wrong)} wrong\n")
    return 1 if wrong else 0


if __name__ == "__main__":
    raise SystemExit(main())
