"""A practice in New Zealand, on a Monday evening."""

from collections.abc import AsyncIterator
from datetime import datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from tests.support.practice import NEW_ZEALAND, Practice, practice

MONDAY_EVENING = datetime(2026, 3, 2, 18, 0, tzinfo=ZoneInfo(NEW_ZEALAND))


@pytest.fixture
async def village(tmp_path: Path) -> AsyncIterator[Practice]:
    """One coach, Rua, and one client, Mary."""
    async with practice(tmp_path, MONDAY_EVENING) as running:
        await running.coach("Rua")
        await running.client("Mary")
        yield running
