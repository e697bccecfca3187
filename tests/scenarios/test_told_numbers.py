"""Numbers of the body in free words: judged, named in the advice, kept; no others, no old ones."""

from typing import Any

import pytest

from bot.storage.facts import StoreFacts
from bot.storage.people import get_person
from bot.storage.unit import UnitOfWork
from tests.support.facts import reference
from tests.support.practice import Practice
from tests.support.sessions import begin


async def kept(village: Practice, who: str) -> dict[str, Any]:
    """What is stored with today's check-in."""

    def read(unit: UnitOfWork) -> dict[str, Any]:
        person = get_person(unit, village.ids[who])
        facts = StoreFacts(unit, person, village.clock.now(), reference())
        found = facts.checkin(person.id, person.local(facts.now).date())
        return dict(found.answers) if found is not None else {}

    return await village.app.database.run(read)


async def test_a_high_pressure_is_judged_named_and_kept(village: Practice):
    said = await village.says("mary", "my blood pressure was 185 over 95 just now")

    assert said[0].startswith("Stop. Sit and rest. Measure again in two minutes.")
    assert "You told me: pressure 185 over 95." in said[0]
    assert "high blood pressure" in village.last_to("rua")
    assert (await kept(village, "mary"))["pressure"] == "185/95"
    assert "Rua" in (await village.says("mary", "/today"))[-1]


async def test_with_a_symptom_the_same_pressure_is_an_emergency_at_once(village: Practice):
    said = await village.says("mary", "204/118 and I'm seeing double")

    assert said[0].splitlines()[0] == "Stop. Call 111 now."
    assert "EMERGENCY: Mary" in village.last_to("rua")


@pytest.mark.parametrize(
    ("text", "key", "value"),
    [
        ("bp this morning 128/76", "pressure", "128/76"),
        ("sugar six point one before breakfast", "glucose", 6.1),
        ("pulse at rest 58", "pulse", 58),
        ("temperature 36,8", "temperature", 36.8),
        ("sats 97", "oxygen", 97.0),
    ],
)
async def test_an_ordinary_number_is_kept_and_says_so(
    village: Practice, text: str, key: str, value: object
):
    said = await village.says("mary", text)

    assert said == ["Thank you. I have kept that number for today."]
    assert (await kept(village, "mary"))[key] == value
    assert village.heard("rua") == []


@pytest.mark.parametrize(
    "text",
    [
        "the doctor wants 130/80",
        "my pressure was 190/110 last year",
        "my husband's blood pressure is 128/76",
        "I take two tablets at 8 and one at 9",
        "I turned 78 on Sunday",
        "three lots of twelve with the red band",
        "we live at 140 now",
    ],
)
async def test_what_is_no_number_of_mine_now_is_neither_judged_nor_kept(
    village: Practice, text: str
):
    said = await village.says("mary", text)

    assert village.heard("rua") == []
    assert await kept(village, "mary") == {}
    assert "I have kept" not in " ".join(said)


async def test_somebody_elses_number_is_answered_for_them_and_not_kept(village: Practice):
    said = await village.says(
        "mary", "my husband's cuff just gave 214 over 122, his sight is blurring"
    )

    assert said[0].startswith("Call 111 for them now.")
    assert await kept(village, "mary") == {}


async def test_a_number_told_during_the_check_in_stays_with_it(village: Practice):
    await village.says("mary", "/checkin")
    await village.says("mary", "my pressure is 128 over 76")
    await village.good_morning("mary")

    assert (await kept(village, "mary"))["pressure"] == "128/76"


async def test_a_number_that_is_taken_back_is_asked_for_again(village: Practice):
    await village.client("Hemi", limits={"numbers": ["pressure", "pulse"]})
    await village.says("hemi", "/checkin")
    await village.good_morning("hemi")
    asked = village.last_to("hemi")
    await village.says("hemi", "64")
    await village.says("hemi", "back")

    assert village.last_to("hemi") == asked
    assert "pulse" not in await kept(village, "hemi")


async def test_a_number_told_after_the_check_in_judges_the_day_again(village: Practice):
    await village.says("mary", "/checkin")
    await village.good_morning("mary")
    await village.says("mary", "my pressure is 165 over 95")

    answers = await kept(village, "mary")
    assert answers["pressure"] == "165/95"
    assert answers["sleep"] == 4
    assert "Your blood pressure is high." in " ".join(await village.says("mary", "/checkin"))


async def test_a_fast_pulse_right_after_effort_is_taken_again_at_rest(village: Practice):
    await village.says("mary", "/checkin")
    await begin(village, "mary")
    said = await village.says("mary", "my pulse is 135")

    assert said[0].startswith("Stop. Sit and rest for 5 minutes.")
    assert village.heard("rua") == []
    assert "pulse" not in await kept(village, "mary")


async def test_a_fast_pulse_after_effort_with_a_symptom_does_not_wait(village: Practice):
    await village.says("mary", "/checkin")
    await begin(village, "mary")
    said = await village.says("mary", "my pulse is 135 and my chest hurts")

    assert said[0].splitlines()[0] == "Stop. Call 111 now."


async def test_what_is_known_of_the_lungs_decides_what_an_oxygen_means(village: Practice):
    await village.client("Hemi", conditions=["lung"])

    assert "Call 111 now." in (await village.says("mary", "sats 90, warmed my hands"))[0]
    assert "111" not in (await village.says("hemi", "sats 90"))[0]


async def test_a_sugar_of_20_typed_at_its_question_gets_no_plan_for_asthma(village: Practice):
    plan = "Two puffs of the blue one."
    await village.client(
        "Hemi", conditions=["diabetes", "asthma"], limits={"asks": ["glucose"]}, doctor_plan=plan
    )
    said = await village.says("hemi", "my sugar is 20 mmol")

    assert plan not in said[0]
    assert "Your sugar is high." in said[0]


async def test_words_around_a_high_number_stand_on_its_alert_and_a_time_is_no_sugar(
    village: Practice,
):
    await village.client(
        "Hemi", conditions=["diabetes"], limits={"numbers": ["glucose"], "glucose_unit": "mmol/L"}
    )
    await village.at("07:00")
    await village.good_morning("hemi")
    said = await village.says("hemi", "about 25 minutes")
    assert "What is your blood sugar now" in said[-1]
    assert "URGENT" not in "\n".join(village.heard("rua"))

    await village.says("hemi", "it was 25 after the birthday cake")

    told = "\n".join(village.heard("rua"))
    assert "Blood sugar 25 mmol/L." in told
    assert "it was 25 after the birthday cake" in told
