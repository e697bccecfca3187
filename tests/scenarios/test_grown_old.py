"""What was told before a start counts for a while only, and what breaks in takes nothing away."""

import pytest

from bot.storage.facts import StoreFacts
from bot.storage.people import get_person
from bot.storage.unit import UnitOfWork
from core.vocabulary import AlertLevel, Sign
from tests.scenarios.test_sugar_and_breath import DIABETIC, at_the_start, puffed
from tests.support.facts import reference
from tests.support.practice import Practice
from tests.support.sessions import values


async def alert(village: Practice, who: str):
    def ask(unit: UnitOfWork):
        me = get_person(unit, village.ids[who])
        return StoreFacts(unit, me, village.clock.now(), reference()).open_alert(me.id)

    return await village.app.database.run(ask)


async def test_a_ready_check_left_open_asks_the_signs_again(village: Practice):
    """As before any start (common practice: right before exertion)."""
    await village.at("07:00")
    await village.good_morning()
    await village.says("mary", "/today")
    await village.taps("mary", "Start")
    await village.at("20:30")
    said = await village.taps("mary", "I am ready")
    assert "Warm" not in said[0]
    assert {"none", "sign"} <= set(values(village))
    said = await village.taps("mary", "No", "I am ready")
    assert "done" in values(village)


async def test_a_walk_left_at_its_ready_check_asks_the_signs_again(village: Practice):
    await village.at("07:00")
    await village.good_morning()
    await village.says("mary", "walk")
    await village.taps("mary", "10", "3", "Start")
    await village.at("20:00")
    await village.taps("mary", "I go now")
    assert {"none", "sign"} <= set(values(village))
    await village.taps("mary", "No", "I go now")
    assert "back" in values(village)


async def test_a_sugar_of_long_ago_is_asked_again_at_the_start(village: Practice):
    await village.client("Hemi", **DIABETIC)
    await at_the_start(village, "hemi", "6.4")
    await village.says("hemi", "7.2")
    await village.wait(45)
    said = await village.taps("hemi", "I am ready")
    assert "What is your blood sugar now" in said[-1]


@pytest.mark.parametrize("between", ["no", "/today"])
async def test_a_low_sugar_keeps_its_snack_whatever_comes_between(village: Practice, between: str):
    """Under 5.0 with a medicine that can cause lows: carbohydrate first (Colberg 2016, ADA)."""
    await village.client("Hemi", **DIABETIC)
    await at_the_start(village, "hemi", "6.4")
    await village.says("hemi", "4.6")
    await village.says("hemi", between)
    if between == "/today":
        await village.taps("hemi", "Start")
        assert "blood sugar" in village.last_to("hemi")
        await village.taps("hemi", "I cannot check it")
    assert "Eat a snack first" in village.last_to("hemi")
    said = await village.taps("hemi", "I have eaten")
    assert "Before you start" in said[-1]
    await village.taps("hemi", "I am ready")
    assert "done" in values(village, "hemi")


@pytest.mark.parametrize(("shown", "sign"), [("LO", Sign.HYPO), ("HI", Sign.SUGAR_HIGH)])
@pytest.mark.parametrize("where", ["checkin", "session"])
async def test_a_meter_beyond_its_scale_is_a_sign_where_the_sugar_is_asked(
    village: Practice, shown: str, sign: Sign, where: str
):
    await village.client("Hemi", **DIABETIC)
    if where == "session":
        await at_the_start(village, "hemi", "6.4")
    else:
        await village.at("07:00")
        await village.good_morning("hemi")
    said = await village.says("hemi", shown)
    assert "111" in said[0]
    found = await alert(village, "hemi")
    assert found is not None
    assert (found.level, found.signs) == (AlertLevel.EMERGENCY, (sign,))


async def test_hi_is_a_greeting_anywhere_else(village: Practice):
    await village.client("Hemi", **DIABETIC)
    await village.says("hemi", "hi")
    assert await alert(village, "hemi") is None


async def test_a_fever_beside_an_emergency_has_no_milder_word_below_it(village: Practice):
    await village.says("mary", "crushing chest pain")
    said = await village.says("mary", "I have a fever of 38.6")
    assert not any("Rest today" in one for one in said)
    assert "Have you called?" in village.last_to("mary")


async def test_my_day_after_too_puffed_keeps_its_question(village: Practice):
    await puffed(village)
    said = await village.says("nell", "/today")
    assert "Use your reliever" in said[-1]
    await village.wait(5)
    found = await alert(village, "nell")
    assert found is not None
    assert found.level is AlertLevel.EMERGENCY
