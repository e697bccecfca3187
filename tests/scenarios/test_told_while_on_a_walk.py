"""Another walk that is told while one is under way: kept, and the watch goes on."""

import pytest

from core.vocabulary import AlertLevel, Sign
from tests.scenarios.test_something_is_wrong import alert_of, on_a_walk
from tests.scenarios.test_walks import walks
from tests.support.practice import Practice
from tests.support.sessions import tap


async def assert_watched(village: Practice) -> None:
    await village.wait(11)
    assert village.last_to("mary").startswith("All right?")
    await village.wait(6)
    alert = await alert_of(village)
    assert alert is not None
    assert (alert.level, alert.signs) == (AlertLevel.URGENT, (Sign.SILENT_SESSION,))


async def test_a_walk_told_of_yesterday_leaves_the_watch_on(village: Practice):
    await on_a_walk(village)
    await village.says("mary", "I walked 20 minutes yesterday")
    await assert_watched(village)


@pytest.mark.parametrize("typed", ["I walked 20 minutes yesterday", "I walked 20 minutes"])
async def test_another_walk_is_written_beside_the_one_on_its_way(village: Practice, typed: str):
    await on_a_walk(village)
    await village.wait(3)
    await village.says("mary", typed)
    said = await tap(village, "talked")
    assert any(one.startswith("Written down: 20 minutes.") for one in said)
    assert sorted(status for status, _ in await walks(village)) == ["done", "running"]
    await assert_watched(village)


async def test_this_walk_told_whole_ends_its_watch(village: Practice):
    await on_a_walk(village)
    await village.wait(12)
    await village.says("mary", "walked 10 minutes, could talk")
    assert [status for status, _ in await walks(village)] == ["done"]
    await village.wait(60)
    assert await alert_of(village) is None
