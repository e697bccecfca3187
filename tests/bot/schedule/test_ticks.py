"""One pass over the sweeps: in order, each until nothing is left, whatever one of them does."""

import asyncio
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from bot.clock import ManualClock
from bot.errors import StoreError
from bot.schedule.ticks import ROUNDS_AT_MOST, Ticks
from bot.storage.unit import UnitOfWork
from tests.doubles.store import store_at

NOON = datetime(2026, 3, 2, 12, tzinfo=UTC)

Sweep = Callable[[UnitOfWork, datetime], int]


class Pass:
    """Sweeps that write down what they do, and one pass over them.

    Attributes:
        seen: (sweep, unit of work) a call, in order.
        woken: how often the sender was woken.
    """

    def __init__(self) -> None:
        self.seen: list[tuple[str, UnitOfWork]] = []
        self.woken = 0

    def sweep(self, name: str, *finds: int | Exception) -> Sweep:
        """One that finds so much, call by call, then nothing."""
        left = list(finds)

        def work(unit: UnitOfWork, now: datetime) -> int:
            assert now == NOON
            self.seen.append((name, unit))
            found = left.pop(0) if left else 0
            if isinstance(found, Exception):
                raise found
            unit.commit()
            return found

        return work

    async def over(self, home: Path, *sweeps: Sweep, due: datetime | None = NOON) -> list[str]:
        """The names of the sweeps that were called; ``due``: when anything falls due."""
        store = store_at(home / "store.sqlite3")

        def wake() -> None:
            self.woken += 1

        try:
            await Ticks(store, ManualClock(NOON), sweeps, wake, lambda _unit: due).catch_up(NOON)
        finally:
            store.close()
        return [name for name, _ in self.seen]


def test_each_sweep_works_until_it_finds_nothing_before_the_next(tmp_path: Path):
    one = Pass()
    called = asyncio.run(
        one.over(tmp_path, one.sweep("a", 2, 1), one.sweep("b"), one.sweep("c", 3))
    )
    assert called == ["a", "a", "a", "b", "c", "c"]
    assert one.woken == 3


def test_a_transaction_ends_where_something_was_done_and_idle_sweeps_share_one(tmp_path: Path):
    one = Pass()
    asyncio.run(one.over(tmp_path, one.sweep("a", 1), one.sweep("b"), one.sweep("c")))
    (_, first), (_, again), (_, b), (_, c) = one.seen
    assert first is not again
    assert again is b is c


def test_a_sweep_that_fails_stops_no_other(tmp_path: Path, caplog: pytest.LogCaptureFixture):
    one = Pass()
    called = asyncio.run(
        one.over(tmp_path, one.sweep("a"), one.sweep("b", ValueError()), one.sweep("c", 1))
    )
    assert called == ["a", "b", "c", "c"]
    assert "a sweep failed: ValueError" in caplog.text


def test_a_store_that_cannot_be_used_is_said_at_once(tmp_path: Path):
    one = Pass()
    with pytest.raises(StoreError):
        asyncio.run(one.over(tmp_path, one.sweep("a", StoreError("gone")), one.sweep("b")))
    assert [name for name, _ in one.seen] == ["a"]


def test_a_sweep_without_end_lets_the_others_come(tmp_path: Path):
    one = Pass()
    endless = one.sweep("a", *[1] * (2 * ROUNDS_AT_MOST))
    called = asyncio.run(one.over(tmp_path, endless, one.sweep("b")))
    assert called == ["a"] * ROUNDS_AT_MOST + ["b"]


@pytest.mark.parametrize("due", [None, NOON + timedelta(seconds=1)])
def test_nothing_is_swept_before_anything_is_due(tmp_path: Path, due: datetime | None):
    one = Pass()
    assert asyncio.run(one.over(tmp_path, one.sweep("a", 2), due=due)) == []
