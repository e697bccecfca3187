"""Balance beside the sink: one tap, on days without a session, never in a session's place."""

from bot.storage.facts import StoreFacts
from bot.storage.people import get_person
from bot.storage.tables import ClientRow
from core.dose.history import History
from core.vocabulary import Family
from tests.scenarios.test_session_walks import assert_plain
from tests.support.facts import reference
from tests.support.practice import Practice
from tests.support.sessions import tap, values


async def history_of(village: Practice, who: str = "mary") -> History:
    """What is on record."""

    def ask(unit):
        me = get_person(unit, village.ids[who])
        return StoreFacts(unit, me, village.clock.now(), reference()).history(me.id)

    return await village.app.database.run(ask)


async def morning(village: Practice, *, trains: bool, who: str = "mary") -> list[str]:
    """A morning on which one trains, or does not; the check-in is done, balance is asked for."""
    today = village.next_at("07:00").isoweekday()
    days = [day for day in range(1, 8) if (day - today) % 2 == (0 if trains else 1)]

    def choose(unit):
        row = unit.session.get_one(ClientRow, village.ids[who])
        row.training_days = ",".join(map(str, days))
        unit.commit()

    await village.app.database.run(choose)
    await village.at("07:00")
    await village.good_morning(who)
    return await village.says(who, "/balance")


async def test_on_a_day_without_a_session_one_tap_writes_five_minutes_or_more_down(
    village: Practice,
):
    said = await morning(village, trains=False)
    assert said[-1].startswith("Balance at the sink. About ")
    said = await tap(village, "steady")
    assert said[-1].startswith("Written down: 5 sets of ")
    history = await history_of(village)
    assert {done.family for done in history.sets} == {Family.BALANCE}
    assert 5 <= history.sessions[-1].minutes <= 10
    assert_plain(village.heard("mary")[-2:])
    # The session of the day is still there, whole.
    said = await village.says("mary", "/today")
    assert "You have trained today" not in said[-1]
    assert "2. " in said[-1]


async def test_a_started_one_is_watched_and_a_grab_makes_the_next_hold_steadier(village: Practice):
    await morning(village, trains=False)
    await tap(village, "start")
    said = await village.says("mary", "/today")
    assert "steady" in values(village), "it goes on where it was, not as a session"
    assert said[-1].startswith("Go on in your own time")
    said = await village.says("mary", "/walk")
    assert said[-1].startswith("Your session is still on.")
    await village.wait(11)
    assert any("Is all well" in text for text in village.heard("mary")[-3:])
    await village.says("mary", "/balance")
    await tap(village, "touched")
    assert all(done.slip for done in (await history_of(village)).sets)
    await village.wait(30)
    assert not any("URGENT" in text for text in village.heard("rua")[-2:])


async def test_on_a_training_day_it_is_in_the_session_and_on_hold_there_is_none(village: Practice):
    said = await morning(village, trains=True)
    assert said[-1].startswith("Balance is part of today's session")
    assert "today" in values(village)
    await village.says("mary", "my chest feels tight")
    await village.taps("mary", "Yes")
    said = await village.says("mary", "/balance")
    assert "Your training is paused" in said[-1]
    assert not (await history_of(village)).sets


async def test_where_sugar_can_fall_it_is_asked_before_a_hold_is_started_too(village: Practice):
    """Under 5.0 with a medicine that can cause lows: carbohydrate first (Colberg 2016, ADA)."""
    diabetic = {"conditions": ["diabetes"], "medicines": ["sulfonylurea"]}
    limits = {"numbers": ["glucose"], "glucose_unit": "mmol/L"}
    await village.client("Hemi", limits=limits, **diabetic)
    await morning(village, trains=False, who="hemi")
    await village.says("hemi", "6.4")
    await village.wait(60)
    await village.says("hemi", "/balance")
    said = await tap(village, "start", "hemi")
    assert "What is your blood sugar now" in said[-1]
    said = await village.says("hemi", "4.6")
    assert "Eat a snack first" in said[-1]
    await village.says("hemi", "5.6")
    assert "steady" in values(village, "hemi")


async def test_typed_words_are_met_there_as_well(village: Practice):
    await morning(village, trains=False)
    said = await village.says("mary", "what a nice morning it is")
    assert "something went wrong" not in "".join(said)
    said = await village.says("mary", "I wobbled.")
    assert said[-1].startswith("Written down:")
