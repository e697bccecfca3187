"""A real store in a file, with all tables."""

from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest

from bot.storage.database import Database
from tests.doubles.store import store_at

NOON = datetime(2026, 3, 2, 12, 0, tzinfo=UTC)


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Database]:
    made = store_at(tmp_path / "store.sqlite3")
    yield made
    made.close()
