"""In the session: the sugar before it and after it, and the reliever of somebody too puffed."""

import pytest

from tests.support.practice import Practice

DIABETIC = {
    "conditions": ["diabetes"],
    "medicines": ["sulfonylurea"],
    "limits": {"numbers": ["glucose"], "glucose_unit": "mmol/L"},
}
ASTHMATIC = {
    "conditions": ["asthma"],
    "medicines": ["reliever_inhaler"],
    "doctor_plan": "Two puffs ten minutes before sport",
}


async def at_the_start(village: Practice, who: str, sugar: str = "") -> list[str]:
    """A good morning, and the start button; ``sugar`` is that of the morning."""
    await village.at("07:00")
    await village.good_morning(who)
    if sugar:
        await village.says(who, sugar)
    await village.wait(60)
    await village.taps(who, "See")
    return await village.taps(who, "Start")


async def to_the_first_card(village: Practice, who: str) -> None:
    for _ in range(12):
        labels = [c.label for row in village.newest_buttons(who).outgoing.choices for c in row]
        if "Too puffed" in labels:
            return
        wanted = ("No", "I am ready", "Done", "I have used it")
        await village.taps(who, next(label for label in labels if label.startswith(wanted)))
    raise AssertionError("no movement came")


async def test_the_sugar_is_asked_before_the_session_and_something_sweet_is_near(
    village: Practice,
):
    await village.client("Hemi", **DIABETIC)
    said = await at_the_start(village, "hemi", "6.4")
    assert "What is your blood sugar now" in said[-1]
    said = await village.says("hemi", "7.2")
    assert "Before you start" in said[-1]
    assert "Something sweet near you" in said[-1]


async def test_under_five_a_snack_comes_first(village: Practice):
    """Under 5.0 with a medicine that can cause lows: carbohydrate first (Colberg 2016, ADA)."""
    await village.client("Hemi", **DIABETIC)
    await at_the_start(village, "hemi", "6.4")
    said = await village.says("hemi", "4.6")
    assert "Eat a snack first" in said[-1]
    said = await village.says("hemi", "5.4")
    assert "Before you start" in said[-1]


async def test_a_low_before_the_session_is_treated_and_nothing_is_trained(village: Practice):
    await village.client("Hemi", **DIABETIC)
    await at_the_start(village, "hemi", "6.4")
    said = "\n".join(await village.says("hemi", "3.6"))
    assert "Before you start" not in said
    assert any("Hemi" in text and "3.6" in text for text in village.heard("rua"))
    await village.wait(16)
    assert "Check your sugar again now" in village.last_to("hemi")


async def test_a_high_sugar_before_the_session_makes_the_day_lighter(village: Practice):
    """13.9 and over: light at most (Colberg 2016)."""
    await village.client("Hemi", **DIABETIC)
    await at_the_start(village, "hemi", "6.4")
    said = "\n".join(await village.says("hemi", "15"))
    assert "Before you start" not in said


async def test_who_cannot_go_low_is_not_asked(village: Practice):
    await village.client("Hemi", **{**DIABETIC, "medicines": ["sglt2"]})
    said = await at_the_start(village, "hemi", "6.4")
    assert "Before you start" in said[-1]
    assert "Something sweet" not in said[-1]


@pytest.mark.parametrize(
    ("answer", "coach_hears"),
    [("No, it was fine", ""), ("Yes, and it is up again", "the sugar was low")],
)
async def test_a_low_later_in_the_day_is_asked_about(
    village: Practice, answer: str, coach_hears: str
):
    await village.client("Hemi", **DIABETIC)
    await at_the_start(village, "hemi", "6.4")
    await village.says("hemi", "7.2")
    await to_the_first_card(village, "hemi")
    await village.taps("hemi", "Stop", "I am just done")
    before = len(village.heard("hemi"))
    await village.wait(239)
    assert not any("since your session" in text for text in village.heard("hemi", before))
    await village.wait(2)
    assert "Was your blood sugar too low since your session?" in village.last_to("hemi")
    await village.taps("hemi", answer)
    listed = "\n".join(await village.says("rua", "/alerts"))
    assert (coach_hears in listed) is True
    assert ("the sugar was low" in listed) is bool(coach_hears)


async def puffed(village: Practice) -> list[str]:
    await village.client("Nell", **ASTHMATIC)
    await at_the_start(village, "nell")
    await to_the_first_card(village, "nell")
    return await village.taps("nell", "Too puffed")


async def test_the_ready_check_shows_the_own_plan_of_somebody_with_asthma(village: Practice):
    await village.client("Nell", **ASTHMATIC)
    await at_the_start(village, "nell")
    await village.taps("nell", "No")
    assert "Your own plan: “Two puffs ten minutes before sport”." in village.last_to("nell")


async def test_too_puffed_to_talk_asks_for_the_reliever_and_eased_goes_on(village: Practice):
    said = await puffed(village)
    assert "Use your reliever puffer now." in said[-1]
    await village.wait(2)
    assert "Has your breath eased, so" in village.last_to("nell")
    said = await village.says("nell", "yes")
    assert any("Rest until you can say two full sentences." in text for text in said)
    assert "the breath has eased" in "\n".join(await village.says("rua", "/alerts"))


@pytest.mark.parametrize("answer", ["No", ""], ids=["not eased", "silent"])
async def test_breath_that_does_not_ease_in_two_minutes_is_severe_asthma(
    village: Practice, answer: str
):
    await puffed(village)
    await village.wait(2)
    if answer:
        await village.taps("nell", answer)
    else:
        await village.wait(2)
    assert "Call 111 now" in "\n".join(village.heard("nell"))
    assert any("EMERGENCY: Nell" in text for text in village.heard("rua"))


async def test_without_a_reliever_too_puffed_is_a_rest(village: Practice):
    await village.at("07:00")
    await village.good_morning()
    await village.taps("mary", "See", "Start")
    await to_the_first_card(village, "mary")
    said = await village.taps("mary", "Too puffed")
    assert not any("puffer" in text for text in said)
