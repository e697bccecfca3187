"""A session that was started and left for half a day is over; nobody is alarmed about it."""

from datetime import timedelta

import pytest
from sqlmodel import select

from bot.schedule.due import LONGEST_SESSION
from bot.storage.tables import AlertRow, SessionRow
from bot.storage.unit import UnitOfWork
from tests.support.practice import Practice
from tests.support.sessions import begin


async def session_and_alerts(village: Practice) -> tuple[str, bool, bool, int]:
    def ask(unit: UnitOfWork) -> tuple[str, bool, bool, int]:
        row = unit.session.exec(select(SessionRow)).one()
        alerts = len(unit.session.exec(select(AlertRow)).all())
        return row.status, row.ended_at is not None, row.silence_due_at is not None, alerts

    return await village.app.database.run(ask)


async def asleep(village: Practice, away: timedelta) -> list[str]:
    """The service stands still with a session running; what it says once it goes on."""
    await village.at("07:00")
    await begin(village)
    before = len(village.channel.sent)
    village.clock.move_to(village.clock.now() + away)
    await village.restart()
    await village.wait(1)
    return [one.outgoing.text for one in village.channel.sent[before:]]


async def test_after_half_a_day_it_is_ended_without_a_question_or_an_alert(village: Practice):
    said = await asleep(village, LONGEST_SESSION + timedelta(minutes=5))

    assert await session_and_alerts(village) == ("stopped", True, False, 0)
    assert not any("Is all well" in text for text in said)
    before = len(village.channel.sent)
    await village.wait(60)
    assert not any("Is all well" in one.outgoing.text for one in village.channel.sent[before:])
    assert (await session_and_alerts(village))[3] == 0


@pytest.mark.parametrize("hours", [1, 10])
async def test_before_that_silence_is_asked_about_and_told(village: Practice, hours: int):
    said = await asleep(village, timedelta(hours=hours))

    assert (await session_and_alerts(village))[0] == "running"
    assert any("Is all well" in text for text in said)
    await village.wait(6)
    assert any("URGENT: Mary" in text for text in village.heard("rua"))
