"""A pain, an illness or a doctor's word told after the check-in counts before any training.

In doubt the easier: what forbids training waits for no leave (the project's own wish).
"""

import pytest

from bot.flows.reasons import Reason
from bot.storage.facts import StoreFacts
from bot.storage.people import get_person
from bot.storage.tables import PersonRow
from bot.storage.unit import UnitOfWork
from core.vocabulary import AlertLevel
from tests.support.facts import reference
from tests.support.practice import Practice


async def told(village: Practice, words: str) -> list[str]:
    """Mary is well at seven, has seen her plan, and then writes this."""
    await village.at("07:00")
    await village.good_morning()
    await village.says("mary", "/today")
    return await village.says("mary", words)


async def mentions(village: Practice):
    def ask(unit):
        me = get_person(unit, village.ids["mary"])
        facts = StoreFacts(unit, me, village.clock.now(), reference())
        return [(one.level, one.words) for one in facts.alerts([me.id], 1)]

    return await village.app.database.run(ask)


async def is_offered_a_session(village: Practice) -> bool:
    said = "\n".join(await village.says("mary", "/today"))
    return "Your session today" in said or "Today we go easier" in said


@pytest.mark.parametrize(
    "words",
    [
        "my knee hurts 8 of 10",
        "my shoulder hurts 7 out of 10",
        "my shoulder hurts",
        "pain 6/10",
        "I am ill",
        "I have a cold and feel ill",
        "I had diarrhoea all night",
        "my doctor says no training",
        "the nurse said I must not exercise",
        "I broke my wrist",
    ],
)
async def test_no_plan_is_offered_before_it_is_told_what_it_comes_to(village: Practice, words: str):
    await told(village, words)
    assert not await is_offered_a_session(village)


@pytest.mark.parametrize("words", ["my knee hurts 8 of 10", "my knee hurts, 9/10", "pain 8/10"])
async def test_a_strong_pain_reaches_the_coach_at_once(village: Practice, words: str):
    before = len(village.heard("rua"))
    await told(village, words)
    assert any("URGENT: Mary" in said for said in village.heard("rua", before))


async def test_the_number_that_was_told_is_not_asked_for_again(village: Practice):
    said = await told(village, "my shoulder hurts 4 of 10")
    assert "• How bad the pain is: 4 of 10" in said[0]
    assert "Since when" in said[-1]
    said = await village.taps("mary", "Since today")
    assert "Your pain is 4 out of ten" in said[-1]
    assert await is_offered_a_session(village)


async def test_an_illness_is_asked_about_and_the_day_judged_anew(village: Practice):
    said = await told(village, "I have a cold")
    assert said[-1].startswith("What is it like?")
    await village.taps("mary", "Fever")
    assert not await is_offered_a_session(village)


@pytest.mark.parametrize(
    ("words", "line"),
    [("my shoulder hurts 6 of 10", "pain_stop"), ("I am ill", "ill_below_neck")],
)
async def test_what_is_left_there_is_on_the_coachs_list(village: Practice, words: str, line: str):
    await told(village, words)
    await village.wait(31)
    found = await mentions(village)
    assert [level for level, _ in found] == [AlertLevel.MENTION]
    codes = [one.code for _, words in found for one in words if isinstance(one, Reason)]
    assert codes == [line]


@pytest.mark.parametrize(
    "words",
    [
        "I am not ill",
        "my husband is ill",
        "I was ill last week",
        "no cold, no cough",
        "it is a cold day here",
        "I am sick of the rain",
    ],
)
async def test_who_is_not_ill_keeps_the_plan(village: Practice, words: str):
    await told(village, words)
    assert await is_offered_a_session(village)


async def test_a_doctors_word_is_asked_about_again_and_counts_with_silence(village: Practice):
    await told(village, "my doctor says no training")
    said = await village.says("mary", "/today")
    assert "Did I get this right: you have been told not to exercise?" in said[-1]
    await village.wait(6)
    assert "must clear you before you start" in (await village.says("mary", "/today"))[-1]


async def test_a_doctors_word_heard_wrong_gives_the_plan_back(village: Practice):
    await told(village, "my doctor says no training")
    await village.taps("mary", "No")
    assert await is_offered_a_session(village)


async def test_a_worse_night_told_later_still_asks_leave(village: Practice):
    said = await told(village, "I slept badly")
    assert said[-1].endswith("Your check-in for today is done. Shall I change it?")


@pytest.mark.parametrize("words", ["I have a fever of 39", "I am ill with a fever"])
async def test_a_fever_counts_on_the_other_side_of_the_date_line(village: Practice, words: str):
    """Nine hours later it is the day before: what was told hours ago still forbids."""
    await told(village, words)

    def travels(unit: UnitOfWork) -> None:
        unit.session.get_one(PersonRow, village.ids["mary"]).zone = "Pacific/Honolulu"
        unit.commit()

    await village.app.database.run(travels)
    await village.wait(9 * 60)
    assert not await is_offered_a_session(village)
    assert "rest day" in village.last_to("mary")
