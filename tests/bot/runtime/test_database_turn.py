"""A service that does not know whether the database is its own puts nothing into it."""

import asyncio
import threading
from collections.abc import Callable
from datetime import timedelta
from typing import Any, cast

import pytest

from bot.runtime import database_turn
from bot.runtime.database_turn import keep_our_turn
from bot.storage.server.connections import ON_THE_SERVER
from bot.storage.server.single_instance import SingleInstance, Whose


class Looked:
    """Stands for the locks: says one thing after the other, the last one again and again."""

    def __init__(self, *said: Whose | Callable[[], Whose]) -> None:
        self.standby_waits = True
        self._said = list(said)
        self._looks_left = len(said) + 3
        self.all_said = threading.Event()
        """It was looked at a few times more than there was something new."""

    def look(self) -> Whose:
        said = self._said.pop(0) if len(self._said) > 1 else self._said[0]
        self._looks_left -= 1
        if not self._looks_left:
            self.all_said.set()
        return said() if callable(said) else said


async def _kept(*said: Any) -> tuple[list[tuple[bool, bool]], bool]:
    """What the service was told of doubt, and whether all is begun anew."""
    doubts: list[tuple[bool, bool]] = []
    over = asyncio.Event()
    looked = Looked(*said)
    locks = cast("SingleInstance", looked)
    works = asyncio.create_task(keep_our_turn(locks, lambda *doubt: doubts.append(doubt), over))
    async with asyncio.timeout(120):
        while not (looked.all_said.is_set() or over.is_set()):  # noqa: ASYNC110 - set on a thread
            await asyncio.sleep(0.005)
    begun_anew = over.is_set()
    over.set()
    await works
    return doubts, begun_anew


def test_doubt_comes_before_the_server_gives_the_database_to_another():
    freed_after = int(ON_THE_SERVER["tcp_user_timeout"]) / 1000

    assert database_turn.LOOK_EVERY.total_seconds() + database_turn.TOLD_WITHIN < freed_after


@pytest.fixture
def hurry(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(database_turn, "LOOK_EVERY", timedelta(seconds=0.005))


@pytest.mark.usefixtures("hurry")
async def test_while_it_is_ours_nothing_is_said():
    assert await _kept(Whose.OURS) == ([], False)


@pytest.mark.usefixtures("hurry")
async def test_while_it_cannot_be_reached_it_is_in_doubt_and_the_service_goes_on():
    assert await _kept(Whose.OURS, Whose.UNKNOWN) == ([(True, True)], False)


@pytest.mark.usefixtures("hurry")
async def test_one_that_does_not_answer_in_time_is_in_doubt(monkeypatch: pytest.MonkeyPatch):
    def silent() -> Whose:
        assert release.wait(120)
        return Whose.UNKNOWN

    monkeypatch.setattr(database_turn, "TOLD_WITHIN", 0.03)
    release, doubts, over = threading.Event(), list[tuple[bool, bool]](), asyncio.Event()

    def in_doubt(*doubt: bool) -> None:
        # Said while the question is still open.
        doubts.append((doubt[0], release.is_set()))
        over.set()
        release.set()

    await keep_our_turn(cast("SingleInstance", Looked(silent)), in_doubt, over)

    assert doubts == [(True, False)]


@pytest.mark.usefixtures("hurry")
async def test_what_another_may_have_done_meanwhile_is_read_anew():
    assert await _kept(Whose.UNKNOWN, Whose.OURS) == ([(True, True), (True, True)], True)


@pytest.mark.usefixtures("hurry")
async def test_another_s_database_is_let_go():
    assert await _kept(Whose.OURS, Whose.ANOTHERS) == ([(True, True)], True)
