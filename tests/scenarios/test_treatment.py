"""What is taken for a sign is asked about: sugar, spray, reliever, chest pain that went."""

import pytest

from tests.support.practice import Practice

SPRAY = "One spray under the tongue. Sit down."


async def diabetic(village: Practice, **more: object) -> None:
    await village.client(
        "Hemi",
        conditions=["diabetes"],
        medicines=["insulin"],
        limits={"glucose_unit": "mmol/L"},
        **more,
    )


async def test_a_low_sugar_is_asked_about_after_15_minutes_and_food_follows(village: Practice):
    """15 g, again at 15 minutes, then food: ADA Standards of Care, NHS (from memory)."""
    await village.at("09:00")
    await diabetic(village)
    await village.says("hemi", "my sugar is 3.4")
    before = len(village.heard("hemi"))
    await village.at("09:14")
    assert not any("Check your sugar again now" in text for text in village.heard("hemi", before))
    await village.at("09:16")
    assert "Check your sugar again now. What is it?" in village.last_to("hemi")

    said = await village.says("hemi", "5.6")

    assert any("Now eat some food" in text for text in said)
    assert any("the sugar is up again" in text for text in village.heard("rua"))
    await village.at("10:30")
    assert "Call 111 now" not in "".join(village.heard("hemi", before))


async def test_no_answer_about_a_low_sugar_is_an_emergency_after_five_minutes(village: Practice):
    await village.at("09:00")
    await diabetic(village)
    await village.says("hemi", "my sugar is 3.4")
    await village.at("09:16")
    before = len(village.heard("hemi"))
    await village.at("09:22")

    said = village.heard("hemi", before)
    assert "Stop. Call 111 now. I have not heard from you" in said[0]
    assert any("EMERGENCY: Hemi" in text for text in village.heard("rua"))
    assert any("Asked whether it has helped: no answer." in text for text in village.heard("rua"))


@pytest.mark.parametrize("answer", ["Still under 4.0", "3.6"])
async def test_still_low_twice_is_an_emergency(village: Practice, answer: str):
    await village.at("09:00")
    await diabetic(village)
    await village.says("hemi", "my sugar is 3.4")
    await village.at("09:16")
    tell = village.says if answer[0].isdigit() else village.taps
    said = await tell("hemi", answer)
    assert any("Drink half a glass of juice again now" in text for text in said)
    assert not any("EMERGENCY" in text for text in village.heard("rua"))

    await village.at("09:32")
    said = await tell("hemi", answer)

    assert said[0].startswith("Stop. Call 111 now.")
    assert any("EMERGENCY: Hemi" in text for text in village.heard("rua"))


async def test_a_very_low_sugar_after_sugar_is_an_emergency_at_once(village: Practice):
    await village.at("09:00")
    await diabetic(village)
    await village.says("hemi", "my sugar is 3.4")
    await village.at("09:16")

    assert (await village.says("hemi", "2.6"))[0].startswith("Stop. Call 111 now.")


async def test_a_spray_that_has_not_helped_in_five_minutes_means_call(village: Practice):
    """One dose, five minutes, then the ambulance: NHS and BHF advice on angina (from memory)."""
    await village.at("09:00")
    await village.client("Hemi", conditions=["angina"], medicines=["nitrate"], doctor_plan=SPRAY)
    said = await village.says("hemi", "I had chest tightness but it has gone now")
    assert any(SPRAY in text for text in said)
    await village.at("09:06")
    assert village.last_to("hemi").startswith("Has it eased?")

    said = await village.says("hemi", "No.")

    assert said[0].startswith("Stop. Call 111 now.")
    assert any("It has not eased five minutes" in text for text in village.heard("rua"))


async def test_an_eased_spray_ends_it_and_the_coach_hears_so(village: Practice):
    await village.at("09:00")
    await village.client("Hemi", conditions=["angina"], medicines=["nitrate"], doctor_plan=SPRAY)
    await village.says("hemi", "I had chest tightness but it has gone now")
    await village.at("09:06")
    said = await village.taps("hemi", "Yes")

    assert any("Call your doctor today" in text for text in said)
    assert any("it has eased" in text for text in village.heard("rua"))
    before = len(village.heard("hemi"))
    await village.at("09:30")
    assert not any("Has it eased" in text for text in village.heard("hemi", before))


async def test_silence_after_a_reliever_means_call_after_two_minutes_more(village: Practice):
    await village.at("09:00")
    await village.client("Hemi", conditions=["asthma"], medicines=["reliever_inhaler"])
    await village.says("hemi", "more puffed than usual going up to the letterbox today")
    await village.at("09:03")
    assert "you can say a full sentence?" in village.last_to("hemi")
    before = len(village.heard("hemi"))
    await village.at("09:06")

    assert "Stop. Call 111 now." in village.heard("hemi", before)[0]


async def test_chest_pain_that_went_is_asked_about_once_more(village: Practice):
    await village.at("09:00")
    await village.says("mary", "I had chest tightness but it has gone now")
    await village.at("09:16")
    assert village.last_to("mary").startswith("Has the feeling in your chest stayed away?")

    assert (await village.taps("mary", "No"))[0].startswith("Stop. Call 111 now.")


async def test_who_has_called_for_help_is_asked_nothing_more(village: Practice):
    await village.at("09:00")
    await village.client("Hemi", conditions=["angina"], medicines=["nitrate"], doctor_plan=SPRAY)
    await village.says("hemi", "crushing chest pain right now")
    await village.taps("hemi", "Yes, I have called")
    before = len(village.heard("hemi"))
    await village.at("09:09")

    assert not any("Has it eased" in text for text in village.heard("hemi", before))


async def test_a_follow_up_that_asks_nothing_repeats_no_question_of_the_client_s_own(
    village: Practice,
):
    await village.at("09:00")
    await village.client("Hemi", conditions=["angina"], medicines=["nitrate"], doctor_plan=SPRAY)
    await village.says("hemi", "my chest feels tight")
    await village.taps("rua", "I have seen")
    await village.taps("hemi", "Yes, I have called")
    await village.says("hemi", "message my coach")
    assert village.last_to("hemi") == "What shall I tell Rua? Type it here."
    before = len(village.heard("hemi"))

    await village.wait(10)

    assert village.heard("hemi", before) == []


async def test_it_is_asked_although_the_service_died_in_between(village: Practice):
    await village.at("09:00")
    await diabetic(village)
    await village.says("hemi", "my sugar is 3.4")
    await village.restart()
    await village.at("09:16")

    assert "Check your sugar again now. What is it?" in village.last_to("hemi")


@pytest.mark.parametrize("said", ["the roses are nice this year", "menu"])
async def test_other_words_do_not_move_the_moment_at_which_silence_counts(
    village: Practice, said: str
):
    await village.at("09:00")
    await diabetic(village)
    await village.says("hemi", "my sugar is 3.4")
    await village.at("09:16")
    await village.says("hemi", said)
    before = len(village.heard("hemi"))
    await village.at("09:22")

    assert any("Stop. Call 111 now." in text for text in village.heard("hemi", before))
