"""A set that was told by mistake is taken back for five minutes; what the coach heard of is not."""

from tests.scenarios.test_session_walks import record
from tests.support.practice import Practice
from tests.support.sessions import begin, tap, values


async def test_a_set_is_taken_back_and_told_anew(village: Practice):
    await village.at("07:00")
    await begin(village)
    first = village.last_to("mary")
    planned = [one for one in values(village) if one.startswith("did=")]
    await tap(village, planned[4])
    back = await tap(village, "back")
    assert back[-1] == first, "a count that was tapped by mistake"
    await tap(village, planned[4])
    await tap(village, "left=0")
    assert len(record(village, "mary")[0].sets) == 1

    said = await village.says("mary", "oops")
    assert said[-1] == first
    assert record(village, "mary")[0].sets == ()
    await tap(village, planned[2])
    await tap(village, "left=3")
    (kept,) = record(village, "mary")[0].sets
    assert kept.left == 3


async def test_after_five_minutes_or_with_the_coach_told_it_stays(village: Practice):
    await village.at("07:00")
    await begin(village)
    planned = [one for one in values(village) if one.startswith("did=")]
    await tap(village, planned[2])
    await tap(village, "left=3")
    await village.wait(6)
    said = await village.says("mary", "undo")
    assert "It stays as it is." in said[0]

    planned = [one for one in values(village) if one.startswith("did=")]
    await tap(village, planned[2])
    await tap(village, "it_hurt")
    await tap(village, "where=knee")
    await tap(village, "pain=6")
    await tap(village, "left=3")
    assert "undo" not in values(village)
    await village.says("mary", "undo")
    assert len(record(village, "mary")[0].sets) == 2
