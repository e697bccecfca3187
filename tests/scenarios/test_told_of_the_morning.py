"""The morning told in own words, when nobody asked or when all had been asked."""

from bot.storage.facts import StoreFacts
from bot.storage.people import get_person
from bot.storage.unit import UnitOfWork
from tests.support.facts import reference
from tests.support.practice import Practice
from tests.support.sessions import labels, tap, values


async def given(village: Practice) -> dict:
    def read(unit: UnitOfWork) -> dict:
        me = get_person(unit, village.ids["mary"])
        facts = StoreFacts(unit, me, village.clock.now(), reference())
        checkin = facts.checkin(me.id, me.local(facts.now).date())
        return dict(checkin.answers) if checkin else {}

    return await village.app.database.run(read)


async def test_words_before_the_checkin_are_taken_and_the_rest_is_asked(village: Practice):
    await village.at("06:30")
    said = await village.says("mary", "I slept badly and my left knee aches")
    assert said[0].splitlines()[1:] == ["• Your sleep: badly", "• Where it hurts: left knee"]
    assert "Any of these today?" in said[1], "the signs are asked whatever was told"
    said = await village.taps("mary", "None of these")
    assert "How bad is the pain" in said[-1], "the pain that was told counts"
    await village.taps("mary", "2")
    await tap(village, "pain_since=days")
    said = await village.taps("mary", "4", "4", "4", "4")
    assert "Thank you, Mary." in said[-1]
    kept = await given(village)
    assert (kept["sleep"], kept["pain_place"], kept["trouble"]) == (2, "left knee", "pain")


async def test_words_after_the_checkin_change_it_only_with_a_yes(village: Practice):
    await village.at("07:00")
    await village.good_morning()
    await village.at("19:00")
    said = await village.says("mary", "To be honest I am exhausted and my mood is low.")
    assert "• How rested you are: worn out\n• Your mood: low" in said[-1]
    assert (await given(village))["mood"] == 4
    await village.says("mary", "yes")
    kept = await given(village)
    assert (kept["tiredness"], kept["mood"], kept["sleep"]) == (1, 2, 4)


async def test_one_answer_is_changed_and_no_other_is_asked(village: Practice):
    await village.at("07:00")
    await village.good_morning()
    said = await village.taps("mary", "Change an answer")
    assert said[-1] == "Which answer shall I change?"
    assert "Your mood" in labels(village)
    said = await tap(village, "pick=mood")
    assert "How is your mood?" in said[-1]
    said = await tap(village, "mood=2")
    assert "Thank you, Mary." in said[-1]
    assert (await given(village))["mood"] == 2
    await village.taps("mary", "Change an answer")
    await village.says("mary", "none of them")
    assert "today" in values(village), "all stays as it was"
