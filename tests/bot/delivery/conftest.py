"""What the delivery tests share: a store, a clock, and a quick way to put messages in."""

from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest

from bot.clock import ManualClock
from bot.storage.database import Database
from tests.bot.delivery.mailbox import Mailbox
from tests.doubles.store import store_at

NOON = datetime(2026, 3, 2, 12, 0, tzinfo=UTC)


@pytest.fixture
def database(tmp_path: Path) -> Iterator[Database]:
    store = store_at(tmp_path / "store.sqlite3")
    yield store
    store.close()


@pytest.fixture
def clock() -> ManualClock:
    return ManualClock(NOON)


@pytest.fixture
def mailbox(database: Database, clock: ManualClock) -> Mailbox:
    return Mailbox(database, clock)
