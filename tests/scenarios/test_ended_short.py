"""A set that ended below plan is asked about with one tap, and what was tapped is what is kept."""

import pytest
from sqlmodel import select

from bot.storage.tables import AlertRow, SetRow
from bot.storage.told import set_done
from bot.storage.unit import UnitOfWork
from core.dose.history import Ended, SetDone
from core.vocabulary import AlertLevel
from tests.support.practice import Practice
from tests.support.sessions import begin, do_movement, finish, tap, values


async def kept(village: Practice) -> SetDone:
    def ask(unit: UnitOfWork) -> SetDone:
        return set_done(unit.encryption, unit.session.exec(select(SetRow)).first())

    return await village.app.database.run(ask)


@pytest.mark.parametrize(
    ("why", "asks_left", "left"),
    [("told_to_stop", True, 1), ("could_not", False, 0), ("other", True, 1)],
)
async def test_one_tap_says_why_a_set_ended_short(village, why: str, asks_left: bool, left: int):
    await village.at("07:00")
    await begin(village)
    await tap(village, next(one for one in values(village) if one.startswith("did=")))
    assert "Why did you stop there?" in village.last_to("mary")

    await tap(village, f"ended={why}")
    assert ("left=1" in values(village)) is asks_left
    if asks_left:
        await tap(village, "left=1")

    found = await kept(village)
    assert (found.ended, found.left) == (Ended(why), left)
    assert found.ended_short
    assert "2 of " in village.last_to("mary")


@pytest.mark.parametrize(("typed", "left"), [("two I think", 2), ("2 or 3", 2), ("about three", 3)])
async def test_a_number_where_it_was_asked_why_is_said_back_as_left(village, typed: str, left: int):
    """Ours: the number answers the question that comes next, so that one comes with it."""
    await village.at("07:00")
    await begin(village)
    await tap(village, next(one for one in values(village) if one.startswith("did=")))
    await village.says("mary", typed)
    assert f"I understand: {left} more" in village.last_to("mary")
    await village.says("mary", "yes")

    assert (await kept(village)).left == left


async def test_a_set_done_as_planned_is_not_asked_about(village: Practice):
    await village.at("07:00")
    await begin(village)
    await do_movement(village)
    assert (await kept(village)).ended is None


def mentioned(unit: UnitOfWork) -> int:
    """How many lines stand on the coach's list without being chased."""
    told = select(AlertRow).where(AlertRow.level == AlertLevel.MENTION)
    return len(unit.session.exec(told).all())


@pytest.mark.parametrize(("why", "told"), [("could_not", True), ("told_to_stop", False)])
async def test_two_sessions_at_none_left_are_a_line_for_the_coach(village, why: str, told: bool):
    for _ in range(3):  # its families take turns: the same ones come again on the third day
        await village.at("07:00")
        await begin(village)
        while fewest := [one for one in values(village) if one.startswith("did=")]:
            await tap(village, fewest[0])
            if f"ended={why}" in values(village):
                await tap(village, f"ended={why}")
            if "left=1" in values(village):
                await tap(village, "left=1")
        await finish(village)
        await village.at("18:00", days=1)
    assert (await village.app.database.run(mentioned) > 0) is told
