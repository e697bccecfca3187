"""The check-in asks what the answers call for, and nothing more."""

import pytest
from sqlmodel import select

from bot.storage.tables import ConversationRow
from bot.storage.unit import UnitOfWork
from tests.support.practice import Practice
from tests.support.sessions import tap, values

FIVE = ("4", "4", "4", "4", "4")
DAY = "Today:"


async def starts(village: Practice, who: str = "mary", **answers: object) -> None:
    if who != "mary":
        await village.client(who.capitalize(), **answers)
    await village.at("07:00")


async def test_a_good_day_takes_six_taps_and_no_typing(village: Practice):
    await starts(village)
    taps = ("None of these", *FIVE)
    for number, label in enumerate(taps, 1):
        assert f"{number} of 6" in village.last_to("mary")
        assert DAY not in village.last_to("mary")
        await village.taps("mary", label)
    assert DAY in village.last_to("mary")


async def test_a_pain_is_asked_where_how_much_and_since_when(village: Practice):
    await starts(village)
    await village.taps("mary", "New pain")
    assert "Where is the new pain?" in village.last_to("mary")
    await village.taps("mary", "Knee")
    assert "How bad is the pain" in village.last_to("mary")
    await village.taps("mary", "4")
    assert "Since when does it hurt?" in village.last_to("mary")
    await village.taps("mary", "A few days")
    assert "How did you sleep?" in village.last_to("mary")


@pytest.mark.parametrize(
    ("kind", "plan"),
    [("A cold: nose", "take it easier"), ("Cough, chest", "rest"), ("Fever", "rest")],
)
async def test_an_illness_is_asked_above_or_below_the_neck(village: Practice, kind, plan):
    """The neck is common practice; fever over 38 C stands in contraindication lists."""
    await starts(village)
    await village.taps("mary", "Ill or fever")
    assert "What is it like?" in village.last_to("mary")
    await village.taps("mary", kind)
    assert "How did you sleep?" in village.last_to("mary")
    await village.taps("mary", *FIVE)
    assert f"Today: {plan}" in village.last_to("mary")


async def test_ill_and_in_pain_asks_both(village: Practice):
    await starts(village)
    await village.taps("mary", "Ill and new pain", "A cold")
    assert "Where is the new pain?" in village.last_to("mary")


@pytest.mark.parametrize(("soreness", "asked"), [("2", True), ("3", False)])
async def test_soreness_of_yesterday_is_asked_to_have_settled(village: Practice, soreness, asked):
    await starts(village)
    await village.taps("mary", "None of these", "4", "4", soreness, "4", "4")
    await village.at("07:00")
    await village.good_morning()
    assert ("Has it settled?" in village.last_to("mary")) is asked
    if asked:
        await village.taps("mary", "No, not yet")
        assert "You still feel it from yesterday." in village.last_to("mary")


async def test_numbers_are_asked_only_where_the_coach_turned_them_on(village: Practice):
    await village.says("rua", "/clients")
    labels = [c.label for row in village.newest_buttons("rua").outgoing.choices for c in row]
    await village.taps("rua", next(label for label in labels if "Mary" in label))
    await village.taps("rua", "Limits and aim", "Numbers to ask", "Blood pressure", "Weight")
    await village.taps("rua", "Done")
    await village.client("Nell")
    await village.at("07:00")
    await village.good_morning("nell")
    assert DAY in village.last_to("nell")

    await village.good_morning()
    assert "What is your blood pressure?" in village.last_to("mary")
    await village.says("mary", "128/78")
    assert "What do you weigh this morning, in kilos?" in village.last_to("mary")
    await village.taps("mary", "Skip today")
    assert "train as planned" in village.last_to("mary")


@pytest.mark.parametrize(
    ("number", "typed", "asked_again"),
    [
        ("pulse", "14", "too low"),
        ("pulse", "400", "too high"),
        ("pulse", "fine", "type a number"),
        ("pulse", "72 80", "more than one number"),
        ("pressure", "120", "both numbers"),
        ("pressure", "78/128", "first number should be the higher"),
        ("pressure", "400/90", "too high"),
        ("weight", "7", "too low"),
        ("weight", "900", "too high"),
        ("glucose", "110", "the other unit"),
        ("glucose", "0.4", "too low"),
    ],
)
async def test_an_impossible_number_gets_a_clear_question(
    village: Practice, number, typed, asked_again
):
    await starts(village, "nell", limits={"numbers": [number], "glucose_unit": "mmol/L"})
    await village.good_morning("nell")
    await village.says("nell", typed)
    assert asked_again in village.last_to("nell")
    assert DAY not in village.last_to("nell")


async def test_a_sugar_plausible_in_the_other_unit_is_asked_again_and_may_stand(
    village: Practice,
):
    """7 "mg/dL" would be a coma; 7 mmol/L is a good morning."""
    await starts(village, "nell", limits={"numbers": ["glucose"], "glucose_unit": "mg/dL"})
    await village.good_morning("nell")
    await village.says("nell", "7")
    assert "the other unit" in village.last_to("nell")
    await village.says("nell", "126")
    assert "train as planned" in village.last_to("nell")


async def test_a_slip_of_the_finger_does_not_settle_the_doubt_about_the_unit(village: Practice):
    await starts(village, "nell", limits={"numbers": ["glucose"], "glucose_unit": "mg/dL"})
    await village.good_morning("nell")
    await village.says("nell", "hm")
    await village.says("nell", "20")
    assert "the other unit" in village.last_to("nell")
    await village.says("nell", "20")
    assert "call" in " ".join(village.heard("nell")[-3:]).lower()


async def test_a_weight_in_pounds_is_asked_again(village: Practice):
    await starts(village, "nell", limits={"numbers": ["weight"]}, mass_kg=75.0)
    await village.good_morning("nell")
    await village.says("nell", "165")
    assert "the other unit" in village.last_to("nell")
    await village.says("nell", "75.2")
    assert "train as planned" in village.last_to("nell")


async def test_a_fast_pulse_is_taken_again_after_five_minutes(village: Practice):
    """100 and over twice: no session (ACSM and heart-rehabilitation lists, the lower lines)."""
    await starts(village, "nell", limits={"numbers": ["pulse"]})
    await village.good_morning("nell")
    await village.says("nell", "104")
    assert "Sit still for 5 more minutes." in village.last_to("nell")
    await village.says("nell", "102")
    assert "Today: rest." in village.last_to("nell")


async def test_high_pressure_eases_and_very_high_pressure_stops_the_day(village: Practice):
    """AHA resistance training: 160 or 100 relative, 180 or 110 absolute."""
    await village.client("Ola", limits={"numbers": ["pressure"]})
    await starts(village, "nell", limits={"numbers": ["pressure"]})
    await village.good_morning("nell")
    await village.says("nell", "162/84")
    assert "Today: take it easier." in village.last_to("nell")
    assert "Light work only, and no holds." in village.last_to("nell")
    await village.good_morning("ola")
    await village.says("ola", "182/84")
    assert "must clear" not in village.last_to("ola")
    assert "train as planned" not in village.last_to("ola")
    assert "Ola" in village.last_to("rua")


async def test_back_skip_and_commands_can_be_typed_as_at_every_other_question(village: Practice):
    await starts(village, "nell", limits={"numbers": ["pulse"]})
    await village.taps("nell", "None of these", "5")
    await village.says("nell", "back")
    assert "How did you sleep?" in village.last_to("nell")
    await village.taps("nell", *FIVE)
    await village.says("nell", "settings")
    assert "pulse" not in village.last_to("nell")
    await village.says("nell", "/checkin")
    await village.says("nell", "skip this")
    assert DAY in village.last_to("nell")


async def test_back_from_a_follow_up_leads_to_the_answer_that_called_for_it(village: Practice):
    await starts(village)
    await village.taps("mary", "None of these", "4")
    first = village.newest_buttons("mary")
    handler, _, _ = first.outgoing.choices[0][0].value.rpartition(".")
    await village.taps_value("mary", f"{handler}.trouble=pain", first.edits or first.platform_id)
    assert "Where is the new pain?" in village.last_to("mary")
    # The place of the pain may be the back as well.
    back = [value for value in values(village) if value.endswith("~back")]
    await tap(village, back[0])
    assert "Any of these today?" in village.last_to("mary")
    await village.taps("mary", "None of these")
    assert "How rested do you feel?" in village.last_to("mary")


async def test_a_second_tap_on_back_is_no_other_question_s(village: Practice):
    await starts(village)
    await village.taps("mary", "None of these", "4", "3")
    shown = village.newest_buttons("mary")
    back = next(c.value for row in shown.outgoing.choices for c in row if c.label == "◀ Back")
    await village.taps_value("mary", back, shown.edits or shown.platform_id)
    assert "How rested do you feel?" in village.last_to("mary")
    await village.wait(1)
    heard = len(village.heard("mary"))

    await village.taps_value("mary", back, shown.edits or shown.platform_id)

    assert len(village.heard("mary")) == heard
    await village.taps("mary", "4", "4", "4", "4")
    assert DAY in village.last_to("mary")


async def test_something_else_is_told_in_words_or_not_at_all(village: Practice):
    await starts(village)
    await village.taps("mary", "Something else", "◀ Back", "Something else")
    await village.says("mary", "Skip.")
    assert "How did you sleep?" in village.last_to("mary")
    await village.taps("mary", *FIVE)
    assert DAY in village.last_to("mary")


async def test_a_check_in_stored_before_steps_were_named_after_questions_goes_on(
    village: Practice,
):
    await starts(village)
    await village.taps("mary", "None of these")

    def as_before(unit: UnitOfWork) -> None:
        row = unit.session.exec(
            select(ConversationRow).where(ConversationRow.flow == "checkin")
        ).one()
        standing = unit.encryption.decrypt_json(row.standing_sealed)
        assert standing["#step"] == "sleep"
        answers = unit.encryption.decrypt_json(row.answers_sealed)
        row.standing_sealed = unit.encryption.encrypt_json({**standing, "#step": "asking"})
        row.answers_sealed = unit.encryption.encrypt_json({**answers, "question": "sleep"})
        unit.session.add(row)
        unit.commit()

    await village.app.database.run(as_before)
    await village.taps("mary", *FIVE)
    assert DAY in village.last_to("mary")
