"""A practice in short, for any Python: start, an alarming text, the monitor, a backup, a restore.

python -m tests.deploy.life_in_short FOLDER
"""

import asyncio
import sys
from datetime import UTC, datetime
from pathlib import Path

from bot.runtime.backup import back_up, bring_back
from bot.runtime.metrics import metrics_text
from bot.settings import Settings
from tests.support.practice import practice


async def _live(home: Path) -> None:
    async with practice(home, datetime(2026, 3, 2, 6, 0, tzinfo=UTC), database="") as village:
        await village.coach("Rua")
        await village.client("Mary")
        await village.says("mary", "my chest hurts and it goes to my arm")
        sys.stdout.write((await metrics_text(village.app)).decode())


def main(folder: Path) -> None:
    """Live through it, and say what the monitor is told and how many came back."""
    home, back, kept = folder / "home", folder / "back", folder / "practice.backup"
    asyncio.run(_live(home))
    back_up(Settings(home=home), kept, None, datetime.now(UTC))
    restored = bring_back(Settings(home=back), kept, None, datetime.now(UTC))
    sys.stdout.write(f"restored {restored.clients}\n")


if __name__ == "__main__":
    main(Path(sys.argv[1]))
