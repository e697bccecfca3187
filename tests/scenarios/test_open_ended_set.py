"""A set with an open end, to see how strong a client is, and what is told after it was planned."""

from datetime import datetime
from pathlib import Path
from zoneinfo import ZoneInfo

from tests.scenarios.test_session_walks import record
from tests.support.practice import NEW_ZEALAND, Practice, practice
from tests.support.sessions import finish, tap, values

MONDAY = datetime(2026, 3, 2, 18, 0, tzinfo=ZoneInfo(NEW_ZEALAND))
OPEN_END = "as many as you can"


async def test_a_pain_told_after_the_plan_makes_an_open_ended_set_a_usual_one(tmp_path: Path):
    async with practice(tmp_path, MONDAY) as village:
        await _until_an_open_ended_set(village)
        heard = len(village.heard("mary"))
        await tap(village, "see=1")
        for value in ("hurts", "where=shoulder", "pain=5", "dull"):
            await tap(village, value)
        await village.says("mary", "/today")

        told = [text for text in village.heard("mary", heard) if "set with an open end" in text]
        assert len(told) == 1
        said = await _to_the_first_movement(village)

        assert "Do:" in said[-1]
        assert OPEN_END not in said[-1]
        assert not any(item.calibration for item in record(village, "mary")[1].prescriptions)


async def test_undo_brings_no_open_ended_set_back_where_the_step_after_it_hurt(tmp_path: Path):
    async with practice(tmp_path, MONDAY) as village:
        await _until_an_open_ended_set(village)
        said = await _to_the_first_movement(village)
        assert OPEN_END in said[-1]
        await tap(village, "did=20")
        await tap(village, "left=5")
        for value in ("hurts", "where=knee", "pain=5", "dull"):
            said = await tap(village, value)
        assert "spares the sore spot" in said[-1] or "we make it easier" in said[-1]

        heard = len(village.heard("mary"))
        await village.says("mary", "undo")

        assert not any(OPEN_END in text for text in village.heard("mary", heard))
        done = record(village, "mary")[0].sets[-1]
        assert (done.amount, done.calibration) == (20, True)


async def _until_an_open_ended_set(village: Practice) -> None:
    """A strong client tells of five or more left each time; the fifth session is planned."""
    await village.coach("Rua")
    await village.client("Mary", birth_year=1965, falls=0, cleared_on="2026-02-27")
    for session in range(5):
        await village.at("07:00")
        await village.good_morning()
        await village.says("mary", "/today")
        if session < 4:
            await _to_the_first_movement(village)
            await finish(village, left=5)
    assert record(village, "mary")[1].prescriptions[0].calibration


async def _to_the_first_movement(village: Practice) -> list[str]:
    said = await village.taps("mary", "Start", "I am ready")
    while "done" in values(village):
        await village.wait(3)
        said = await tap(village, "done")
    return said
