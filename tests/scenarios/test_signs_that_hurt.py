"""Signs whose wrong advice hurts: high sugar, deadly infections, a lifeless person, despair."""

import pytest

from tests.support.practice import Practice

SUGAR = ("fast sugar", "sweet drink", "some sugar now", "spoons of sugar")


def gives_sugar(said: list[str]) -> bool:
    return any(words in text for text in said for words in SUGAR)


async def test_high_sugar_with_vomiting_is_an_emergency_and_no_sugar_is_given(village: Practice):
    said = await village.says("mary", "my sugar is 24 and I am throwing up and very thirsty")

    assert said[0].splitlines()[0] == "Stop. Call 111 now."
    assert "my sugar is high and I am ill" in said[0]
    assert not gives_sugar(said)
    assert "EMERGENCY: Mary" in village.last_to("rua")
    assert "high blood sugar with illness" in village.last_to("rua")


@pytest.mark.parametrize("text", ["finger prick says 22", "my sugar is 410 today", "sugar 18.5"])
async def test_high_sugar_alone_is_urgent_and_holds(village: Practice, text: str):
    said = await village.says("mary", text)

    assert said[0].startswith("Stop for today. Your sugar is high.")
    assert "Eat no sugar." in said[0]
    assert not gives_sugar(said)
    assert "URGENT: Mary" in village.last_to("rua")
    closed = (await village.says("mary", "/today"))[-1]
    assert "Rua" in closed


async def test_a_meter_that_reads_hi_goes_to_hospital(village: Practice):
    said = await village.says("mary", "my meter just shows HI")

    assert said[0].startswith("Go to the emergency department now.")
    assert not gives_sugar(said)


async def test_the_unit_of_the_client_decides_what_24_means(village: Practice):
    await village.client("Hemi", country="US", limits={"glucose_unit": "mg/dL"})
    said = await village.says("hemi", "my sugar is 24")

    assert gives_sugar(said[:1])
    assert any("Which unit does your meter show" in text for text in said)
    said = await village.taps("hemi", "mmol/L")
    assert "Your sugar is high." in said[0]
    assert not gives_sugar(said)


async def test_where_the_unit_is_known_nothing_is_asked(village: Practice):
    await village.client("Hemi", limits={"glucose_unit": "mmol/L"})
    said = await village.says("hemi", "my sugar is 24")

    assert not any("Which unit" in text for text in said)
    assert not gives_sugar(said)


async def test_where_the_unit_is_unknown_it_is_asked_and_mg_brings_sugar(village: Practice):
    said = await village.says("mary", "my sugar is 24")
    assert not gives_sugar(said)
    assert any("Which unit does your meter show" in text for text in said)

    assert gives_sugar(await village.taps("mary", "mg/dL"))


async def test_a_high_sugar_of_the_morning_brings_no_plan_for_asthma(village: Practice):
    await village.client(
        "Hemi",
        conditions=["asthma", "diabetes"],
        doctor_plan="Two puffs of the blue one.",
        limits={"numbers": ["glucose"]},
    )
    await village.at("07:00")
    await village.good_morning("hemi")
    said = await village.says("hemi", "20")

    assert "Your sugar is high." in said[0]
    assert "Two puffs" not in said[0]
    assert "high blood sugar" in village.last_to("rua")


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("I have a fever of 39 and I'm all confused", "sepsis"),
        ("38.9 and my neck is stiff", "meningitis"),
        ("fever and I shiver so the bed shakes", "sepsis"),
        ("temperature of 39 and my skin has gone blotchy", "sepsis"),
        ("chemo last week and now 38.1", "cancer treatment"),
    ],
)
async def test_a_fever_with_a_deadly_sign_is_an_emergency(village: Practice, text: str, words: str):
    said = await village.says("mary", text)

    assert "111" in said[0].splitlines()[0]
    assert words in said[0]
    assert "Rest today" not in said[0]
    assert "EMERGENCY: Mary" in village.last_to("rua")


async def test_who_cannot_call_out_of_gas_is_kept_outside(village: Practice):
    # NHS on carbon monoxide: fresh air first, nobody goes back in.
    said = await village.says("mary", "the co alarm is going off and we all have headaches")
    assert said[0].splitlines()[0] == "Stop. Go outside now. Then call 111. Do not go back in."

    said = [*said, *await village.taps("mary", "I can't call")]
    assert any("Stay outside, in fresh air." in one for one in said)
    assert not any("the door" in one or "Sit down and rest" in one for one in said)


async def test_who_must_not_stand_up_is_sent_to_no_door(village: Practice):
    # Anaphylaxis UK: lie flat, do not stand.
    said = await village.says("mary", "stung by a bee and my tongue is swelling")
    assert said[0].startswith("Stop. Use your pen now if you have one. Then call 111.")

    said = [*said, *await village.taps("mary", "Yes, I have called")]
    assert not any("Unlock the door" in one for one in said)
    assert any("ask them to unlock the door" in one for one in said)


@pytest.mark.parametrize("text", ["he is not breathing", "my husband isn't breathing"])
async def test_somebody_who_does_not_breathe_is_called_for_without_a_question(
    village: Practice, text: str
):
    said = await village.says("mary", text)

    assert said[0].splitlines()[0] == "Call 111 for them now."
    assert "loudspeaker" in said[0]
    assert "Push hard and fast on the chest as they tell you." in said[0]
    assert not any("Is this happening now?" in one or "lean forward" in one for one in said)
    assert "EMERGENCY: Mary" in village.last_to("rua")


async def test_a_wife_on_the_client_s_phone_is_told_what_to_do_and_training_is_held(
    village: Practice,
):
    said = await village.says("mary", "wife here, he's on the floor, all confused")

    assert said[0].splitlines()[0] == "Call 111 for them now."
    assert "loudspeaker" in said[0]
    assert "The one in danger may be your client" in village.last_to("rua")
    await village.at("07:00")
    assert not any("Good morning" in text for text in village.heard("mary")[-1:])


@pytest.mark.parametrize(
    "text", ["not much point carrying on is there", "tell her thanks for everything, goodbye"]
)
async def test_despair_gets_words_of_care_at_once(village: Practice, text: str):
    said = await village.says("mary", text)
    assert said[0].startswith("I am glad you told me.")
    assert "1737" in said[0]
    assert "EMERGENCY: Mary" in village.last_to("rua")

    stranger = await village.says("nobody", text)
    assert stranger[0].startswith("I am glad you told me.")
    assert "I cannot tell anyone" in stranger[0]


@pytest.mark.parametrize("first", ["my chest feels tight", "my husband hit me last night"])
async def test_despair_gets_words_of_care_while_another_alert_is_open(
    village: Practice, first: str
):
    await village.says("mary", first)
    said = await village.says("mary", "not much point carrying on is there")

    assert said[0].startswith("I am glad you told me.")


@pytest.mark.parametrize(
    "text", ["thanks for everything, see you Thursday", "no point carrying on with this exercise"]
)
async def test_a_harmless_goodbye_is_no_despair(village: Practice, text: str):
    said = await village.says("mary", text)

    assert not any("glad you told me" in one for one in said)
    assert village.heard("rua") == []
