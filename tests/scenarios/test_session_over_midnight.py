"""What runs over midnight goes on as of its own day: no button of it is another day's."""

from sqlmodel import select

from bot.storage.tables import AlertRow, ClientRow, SessionRow, SetRow
from bot.storage.told import alert_told
from bot.storage.unit import UnitOfWork
from core.vocabulary import AlertLevel, Sign
from tests.support.practice import Practice
from tests.support.sessions import do_movement, tap, values


async def chased(village: Practice) -> list[set[Sign]]:
    """The signs of each alert that is chased."""

    def read(unit: UnitOfWork) -> list[set[Sign]]:
        rows = unit.session.exec(select(AlertRow).where(AlertRow.level != AlertLevel.MENTION))
        return [set(alert_told(unit.encryption, row).signs) for row in rows]

    return await village.app.database.run(read)


async def at_a_movement(village: Practice) -> None:
    await village.at("07:00")
    await village.good_morning()
    await village.at("23:52")
    await village.says("mary", "/today")
    await village.taps("mary", "Start", "No, none", "I am ready")
    await village.wait(3)
    while "done" in values(village):
        await tap(village, "done")


async def beside_the_sink(village: Practice) -> None:
    await village.at("07:00")
    await village.good_morning()

    def days(unit: UnitOfWork) -> None:
        unit.session.get_one(ClientRow, village.ids["mary"]).training_days = "1"
        unit.commit()

    await village.app.database.run(days)
    await village.at("23:55")
    await village.says("mary", "balance")
    await village.taps("mary", "Start", "No, none")


async def test_a_chest_that_hurts_after_midnight_is_an_alert(village: Practice):
    await at_a_movement(village)
    await tap(village, "hurts")
    await village.at("00:01")

    await tap(village, "where=chest")

    (signs,) = await chased(village)
    assert Sign.CHEST_PAIN in signs


async def test_a_set_told_after_midnight_is_kept_for_the_day_of_its_session(village: Practice):
    await at_a_movement(village)
    await village.at("00:01")

    said = await do_movement(village, minutes=0)

    assert not any("does nothing" in one for one in said)

    def days(unit: UnitOfWork) -> bool:
        done = unit.session.exec(select(SetRow)).one()
        session = unit.session.exec(select(SessionRow)).one()
        return done.on_date == session.on_date and session.status == "running"

    assert await village.app.database.run(days)


async def test_something_is_wrong_at_the_sink_after_midnight_is_asked_about(village: Practice):
    await beside_the_sink(village)
    await village.at("00:02")

    said = await tap(village, "unwell")

    assert not any("does nothing" in one for one in said)
    assert "sign" in values(village)


async def test_all_is_well_after_midnight_keeps_the_session_and_raises_nothing(village: Practice):
    await at_a_movement(village)
    for _ in range(40):
        if "fine" in values(village):
            break
        await village.wait(1)

    await tap(village, "fine")
    await village.wait(6)

    assert not await chased(village)
