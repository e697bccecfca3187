"""A real store with all tables: in a file, and on a PostgreSQL server."""

from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest

from bot.storage.database import Database
from bot.storage.encryption import Encryption
from tests.doubles.keys import KEY
from tests.doubles.postgres import NEEDED, postgres
from tests.doubles.store import store_at

NOON = datetime(2026, 3, 2, 12, 0, tzinfo=UTC)


@pytest.fixture(params=["sqlite", pytest.param("postgresql", marks=NEEDED)])
def store(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Database]:
    """Each test that asks for it runs on both."""
    if request.param == "sqlite":
        made = store_at(tmp_path / "store.sqlite3")
        yield made
        made.close()
        return
    with postgres(migrated=True) as address:
        made = Database(address, Encryption(KEY))
        yield made
        made.close()
