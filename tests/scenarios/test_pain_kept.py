"""A pain told in a session counts from the tap of its number, whatever is answered after it."""

from sqlmodel import select

from bot.schedule.due import reschedule
from bot.storage.tables import PainRow, PersonRow, SetRow
from bot.storage.told import pain_done, set_done
from bot.storage.unit import UnitOfWork
from core.dose.history import PainTold, SetDone
from tests.support.practice import Practice
from tests.support.sessions import begin, tap, values


async def hurts(village: Practice, level: int) -> None:
    """ "It hurts" on the card, the knee, so much."""
    await village.at("07:00")
    await begin(village)
    for value in ("hurts", "where=knee", f"pain={level}"):
        await tap(village, value)


async def pains(village: Practice) -> list[PainTold]:
    def read(unit: UnitOfWork) -> list[PainTold]:
        return [pain_done(unit.encryption, row) for row in unit.session.exec(select(PainRow))]

    return await village.app.database.run(read)


async def test_a_severe_pain_rings_with_its_tap(village: Practice):
    await hurts(village, 9)
    assert [one.how_much for one in await pains(village)] == [9]
    assert any("URGENT: Mary" in text for text in village.heard("rua"))
    assert "Is it a sharp pain" not in village.last_to("mary")


async def test_a_pain_is_kept_before_its_kind_is_told_and_my_day_asks_again(village: Practice):
    await hurts(village, 6)
    assert [(one.how_much, one.sharp) for one in await pains(village)] == [(6, False)]

    await village.says("mary", "/today")
    assert village.last_to("mary").startswith("Is it a sharp pain")
    await tap(village, "sharp")

    assert [(one.how_much, one.sharp) for one in await pains(village)] == [(6, True)]
    assert not [value for value in values(village) if value.startswith("did=")]


async def test_over_the_date_line_the_pain_of_an_hour_ago_is_of_today(village: Practice):
    """From Auckland to Honolulu it is yesterday again: Tuesday morning there, Monday here."""
    await hurts(village, 7)
    await tap(village, "dull")
    await village.says("mary", "stop")
    await tap(village, "just_stop")

    def flies(unit: UnitOfWork) -> None:
        unit.session.get_one(PersonRow, village.ids["mary"]).zone = "Pacific/Honolulu"
        unit.session.flush()
        reschedule(unit, village.ids["mary"], village.clock.now())
        unit.commit()

    await village.app.database.run(flies)
    await village.says("mary", "/today")
    await village.good_morning()
    await village.says("mary", "/today")

    assert "quat" not in village.last_to("mary"), village.last_to("mary")


async def beside_a_count(village: Practice, level: int) -> None:
    """The count of the card that is shown, and a pain of the knee beside it."""
    await village.at("07:00")
    await begin(village)
    counts = [value for value in values(village) if value.startswith("did=")]
    for value in (counts[2], "it_hurt", "where=knee", f"pain={level}"):
        await tap(village, value)


async def sets(village: Practice) -> list[SetDone]:
    def read(unit: UnitOfWork) -> list[SetDone]:
        return [set_done(unit.encryption, row) for row in unit.session.exec(select(SetRow))]

    return await village.app.database.run(read)


async def test_a_pain_beside_a_count_is_kept_with_its_tap_and_told_once(village: Practice):
    await beside_a_count(village, 7)
    assert [one.how_much for one in await pains(village)] == [7]
    await village.says("mary", "/today")
    assert "left=3" in values(village)
    await tap(village, "left=3")
    assert [one.how_much for one in await pains(village)] == [7]
    assert [(one.pain, one.left) for one in await sets(village)] == [(7, 3)]
    assert "undo" not in values(village)


async def test_a_half_told_set_stays_when_the_session_is_broken_off(village: Practice):
    await beside_a_count(village, 5)
    await village.taps("mary", "Stop the session", "I am just done")
    assert [one.how_much for one in await pains(village)] == [5]
    assert [(one.pain, one.left) for one in await sets(village)] == [(5, None)]


async def test_a_pain_beside_a_count_is_named_when_silence_follows(village: Practice):
    await beside_a_count(village, 6)
    await village.wait(60 * 60)
    told = next(text for text in village.heard("rua") if "URGENT: Mary" in text)
    assert "Pain in the knee, 6 of 10." in told
