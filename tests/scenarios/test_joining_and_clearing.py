"""From the invitation to the first plan: what a client tells is asked about, kept and steers."""

from datetime import date

import pytest
import textstat

from bot.flows.changes import SetDesk
from bot.flows.desk import WAYS
from bot.schedule.due import reschedule
from bot.storage.changes.apply import apply_all
from bot.storage.changes.applying import Applying
from bot.storage.unit import UnitOfWork
from core.client.operations import Approach, DayOrPart, Joint, Operation, Side, SurgeonLimits
from core.movements.ladder import ladder
from core.vocabulary import Condition, Family, Kit
from tests.support.facts import reference
from tests.support.joining import clears, joins, offered, record_of, taps_code
from tests.support.practice import Practice

NEW_HIP = {"replaced_joints": ["left hip"], "operation1_on": "this_month"}


async def test_what_a_surgeon_allows_is_asked_where_there_was_an_operation(village: Practice):
    asked = await joins(
        village,
        "Nell",
        replaced_joints=["left knee"],
        operation1_on="January 2026",
        operation1_limits=["bend", "no_kneeling"],
        operation1_bend="90",
        operation1_until="12",
    )
    assert "When was it?" in asked["operation1_on"]
    assert "left knee" in asked["operation1_on"]
    assert "operation1_approach" not in asked

    client = record_of(village, "Nell").client
    limits = SurgeonLimits(bend_degrees=90.0, until_week=12, kneeling=False)
    assert client.operations == (
        Operation(joint=Joint.KNEE, side=Side.LEFT, on=DayOrPart(2026, 1), limits=limits),
    )
    assert Condition.JOINT_REPLACEMENT in client.conditions

    told = village.last_to("rua")
    assert "left knee, January 2026, bends to 90°, no kneeling, until week 12" in told


async def test_nobody_without_an_operation_is_asked_about_a_surgeon(village: Practice):
    asked = await joins(village, "Nell")
    assert not [key for key in asked if key.startswith("operation1")]
    assert {"falls", "fears_falling", "walking_aid", "lives_alone"} <= set(asked)


async def test_what_is_not_known_stays_unknown(village: Practice):
    unknown = dict.fromkeys(("falls", "fears_falling", "walking_aid", "lives_alone"), "")
    await joins(village, "Nell", **unknown, replaced_joints=["left hip"], operation1_on="")
    client = record_of(village, "Nell").client
    assert (client.falls, client.fears_falling, client.walking_aid) == (None, None, None)
    assert client.lives_alone is None
    assert client.operations == (Operation(joint=Joint.HIP, side=Side.LEFT),)


@pytest.mark.parametrize(
    ("sex", "birth_year", "there"),
    [("f", "1985", True), ("f", "1950", False), ("m", "1985", False)],
)
async def test_pregnancy_is_asked_only_where_it_can_be(
    village: Practice, sex: str, birth_year: str, there: bool
):
    seen = []
    asked = await joins(village, "Nell", sex=sex, birth_year=birth_year, conditions_other=[])
    assert "conditions_other" in asked
    for one in village.channel.sent:
        if one.address == "nell":
            seen += [c.value for row in one.outgoing.choices for c in row]
    assert any(value.endswith("conditions_other~pregnancy") for value in seen) is there


async def test_the_own_aim_is_kept_shown_to_the_coach_and_named_with_the_progress(
    village: Practice,
):
    await joins(village, "Nell", own_aim="play with my grandson")
    await joins(village, "Hemi", own_aim="stairs")
    assert record_of(village, "Nell").client.wished_families == ()
    assert record_of(village, "Hemi").client.wished_families[0] is Family.STEP
    await taps_code(village, "rua", "open")
    await taps_code(village, "rua", "about")
    assert "Wants to: get up the stairs" in village.last_to("rua")
    assert "Your aim: get up the stairs." in "\n".join(await village.says("hemi", "/progress"))
    said = "\n".join(await village.says("nell", "/progress"))
    assert "Your aim: “play with my grandson”." in said


async def test_the_coach_is_asked_for_what_is_missing_of_a_new_hip_and_nothing_else(
    village: Practice,
):
    await joins(village, "Nell", replaced_joints=["left hip"], operation1_on="")
    asked = await clears(
        village,
        "Nell",
        operation1_on="last_month",
        operation1_approach="posterior",
        operation1_limits=["bend", "weight"],
        operation1_bend="80",
        operation1_weight="5",
        operation1_until="12",
    )
    assert [key for key in asked if key.startswith("operation")] == [
        "operation1_on",
        "operation1_approach",
        "operation1_limits",
        "operation1_bend",
        "operation1_weight",
        "operation1_until",
    ]
    (hip,) = record_of(village, "Nell").client.operations
    assert (hip.on, hip.approach) == (DayOrPart(2026, 2), Approach.POSTERIOR)
    assert hip.limits == SurgeonLimits(bend_degrees=80.0, weight_kg=5.0, until_week=12)


async def test_what_the_client_knew_the_coach_is_not_asked(village: Practice):
    await joins(
        village,
        "Nell",
        replaced_joints=["right knee"],
        operation1_on="2019",
        conditions_heart=["pacemaker"],
        pacemaker_on="longer",
    )
    asked = await clears(village, "Nell")
    assert list(asked) == ["identity", "word", "word_on", "until"]


async def test_a_doctors_word_of_the_coach_has_a_day_and_ends_a_year_after_it(village: Practice):
    await joins(village, "Nell", conditions_other=["arthritis"])
    await clears(village, "Nell", word_on="3 June 2025")
    record = record_of(village, "Nell")
    assert record.answers["doctor_word_on"] == "2025-06-03"
    assert record.client.clearance is not None
    assert record.client.clearance.until == date(2026, 6, 3)


async def test_what_the_client_typed_stands_in_the_proposal(village: Practice):
    await joins(village, "Nell", other_health="I had shingles last winter")
    assert "In own words: “I had shingles last winter”" in village.last_to("rua")


async def test_a_word_told_at_joining_counts_with_a_name_and_not_after_an_operation(
    village: Practice,
):
    word = {"conditions_other": ["arthritis"], "doctor_said": "1 March 2026", "changed_since": "no"}
    await joins(village, "Nell", **word)
    assert "Our own rule asks for a doctor's word too." in village.last_to("rua")
    await joins(village, "Hemi", **word, doctor_name="Dr Singh")
    assert "A doctor's word is told: Dr Singh, 01 Mar 2026." in village.last_to("rua")
    assert "Our own rule" not in village.last_to("rua")
    await joins(village, "Wiremu", **word, doctor_name="Dr Singh", **NEW_HIP)
    assert "Our own rule asks for a doctor's word too." in village.last_to("rua")


@pytest.mark.parametrize(("when", "wanted"), [("this_month", True), ("June 2025", False)])
async def test_a_fresh_operation_needs_a_doctors_word(village: Practice, when: str, wanted: bool):
    """Twelve weeks: ours, the careful side."""
    await joins(village, "Nell", operations=["hernia"], operation1_on=when, operation1_limits=[])
    assert ("Our own rule asks for a doctor's word too." in village.last_to("rua")) is wanted


async def test_an_operation_told_later_ends_the_clearance_and_restarts_at_the_easiest(
    village: Practice,
):
    await joins(village, "Nell", days="own", training_days=list("1234567"))
    await clears(village, "Nell")
    assert "restart_at" not in record_of(village, "Nell").answers
    await village.says("nell", "/settings")
    await taps_code(village, "nell", "answers")
    await taps_code(village, "nell", "change")
    await taps_code(village, "nell", "pick~health")
    await taps_code(village, "nell", "pick~operations")
    for code in ("operations~eye", "operations~done", "~this_month", "~none"):
        await taps_code(village, "nell", code)
    await taps_code(village, "nell", "right")
    assert not record_of(village, "Nell").cleared
    asked = await clears(
        village, "Nell", operations=["eye"], operation1_on="this_month", operation1_limits=[]
    )
    assert "operation1_limits" in asked
    assert record_of(village, "Nell").answers["restart_at"]
    await village.at("07:00")
    await village.good_morning("nell")
    assert "easiest" in village.last_to("nell")


async def test_after_a_stay_in_hospital_or_an_operation_the_new_clearance_begins_at_the_easiest(
    village: Practice,
):
    await village.at("07:00", days=31)
    await village.client("Nell", cleared_on="2026-02-20")
    await village.at("07:00")
    await village.good_morning("nell")
    await village.taps("nell", "I had an operation", "Skip")
    await village.says("rua", "/clients")
    await taps_code(village, "rua", str(village.ids["nell"]))
    asked = await clears(
        village, "Nell", operations=["hernia"], operation1_on="last_month", operation1_limits=[]
    )
    assert {"operations", "operation1_on", "operation1_limits"} <= set(asked)
    (told,) = record_of(village, "Nell").client.operations
    assert (told.joint, told.on) == (Joint.GROIN, DayOrPart(2026, 3))
    await village.at("07:00")
    await village.good_morning("nell")
    assert "easiest" in village.last_to("nell")


async def test_a_clearance_that_ends_is_told_to_both_two_weeks_before_and_once(
    village: Practice,
):
    await village.client("Nell", cleared_on="2026-02-20", cleared_until="2026-03-19")
    await village.at("07:00", days=1)
    assert not any("You may train until" in text for text in village.heard("nell"))
    await village.at("07:00")
    said = [text for text in village.heard("nell") if "You may train until 19 March" in text]
    assert len(said) == 1
    assert not any("The clearance of Nell" in text for text in village.heard("rua"))

    def has_lists(unit: UnitOfWork) -> None:
        reschedule(unit, village.ids["rua"], village.clock.now())
        unit.commit()

    await village.app.database.run(has_lists)
    await village.at("09:00", days=3)
    lists = [text for text in village.heard("rua") if text.startswith("Good morning")]
    assert "• Clearance ends: Nell (19 Mar)" in lists[-1], "on each list instead"
    assert "has a clearance that ends" not in "".join(lists)
    assert not any("Mary (" in text for text in lists)
    said = [text for text in village.heard("nell") if "You may train until" in text]
    assert len(said) == 1


async def test_a_coach_who_wants_it_at_once_reads_of_a_clearance_that_ends_by_itself(
    village: Practice,
):
    def change(unit: UnitOfWork) -> None:
        rua, now = village.ids["rua"], village.clock.now()
        apply_all(Applying(unit, rua, now, str), [SetDesk(rua, {WAYS: {"clearance": "now"}})])
        unit.commit()

    await village.app.database.run(change)
    await village.client("Nell", cleared_on="2026-02-20", cleared_until="2026-03-19")
    await village.at("07:00", days=4)
    said = [text for text in village.heard("rua") if "The clearance of Nell ends on" in text]
    assert len(said) == 1


async def test_the_new_questions_are_plain(village: Practice):
    """Grade 6 or lower (AMA and NIH advise 6 for patients)."""
    asked = await joins(
        village,
        "Nell",
        **NEW_HIP,
        operation1_limits=["bend", "weight"],
        operation1_bend="90",
        operation1_weight="5",
        conditions_other=["arthritis"],
        doctor_said="1 March 2026",
        doctor_name="Dr Singh",
        changed_since="yes",
    )
    new = {
        "replaced_joints", "operations", "operation1_on", "operation1_approach",
        "operation1_limits", "operation1_bend", "operation1_weight", "operation1_until",
        "doctor_name", "falls", "fears_falling", "walking_aid", "lives_alone", "own_aim",
    }  # fmt: skip
    assert new <= set(asked)
    prose = " ".join(text.partition("(")[0] for key, text in asked.items() if key in new)
    assert textstat.flesch_kincaid_grade(prose) <= 6


async def test_a_client_on_a_medicine_that_can_cause_lows_is_offered_the_sugar_question(
    village: Practice,
):
    await joins(
        village,
        "Nell",
        conditions_other=["diabetes"],
        medicines_any="some",
        medicines_breath=["glinide"],
    )
    asked = await clears(village, "Nell", sugar="mg")
    assert "bring the blood sugar too low" in asked["sugar"]
    limits = record_of(village, "Nell").client.limits
    assert limits.numbers_asked == {"glucose"}
    assert (limits.glucose_unit, limits.glucose_unit_fixed) == ("mg/dL", True)
    await joins(village, "Hemi", conditions_other=["diabetes"])
    assert "sugar" not in await clears(village, "Hemi")
    assert offered(village, "hemi")


async def test_the_pulse_line_can_be_raised_with_an_uneven_rhythm_and_a_doctors_word(
    village: Practice,
):
    await joins(village, "Nell", conditions_heart=["rhythm"])
    await clears(village, "Nell")
    await taps_code(village, "rua", "limits")
    await taps_code(village, "rua", "edit~pulse_line")
    await village.says("rua", "111")
    assert record_of(village, "Nell").client.resting_pulse_line == 100
    await taps_code(village, "rua", "pulse_line~110")
    assert record_of(village, "Nell").client.resting_pulse_line == 110
    assert "Resting pulse line: 110" in village.last_to("rua")

    await joins(village, "Hemi", conditions_heart=["rhythm"])
    await clears(village, "Hemi", word="own")
    await taps_code(village, "rua", "limits")
    assert "Resting pulse line" not in village.last_to("rua")


async def test_a_plan_that_says_puffer_before_sport_is_a_plan_and_no_alarm(village: Practice):
    await joins(
        village,
        "Nell",
        conditions_other=["asthma"],
        doctor_plan="Two puffs ten minutes before sport",
    )
    assert record_of(village, "Nell").doctor_plan == "Two puffs ten minutes before sport"
    assert not any("EMERGENCY" in text or "URGENT" in text for text in village.heard("rua"))


async def test_what_a_condition_leaves_open_is_asked_and_kept_as_a_value_that_steers(
    village: Practice,
):
    """Epilepsy: after a year without a fit all is open (ILAE report, by excerpt)."""
    await joins(village, "Nell", conditions_other=["epilepsy"], step="17")
    asked = await clears(village, "Nell", told_last_fit="over a year")
    assert "when the last fit was" in asked["told_last_fit"]
    client = record_of(village, "Nell").client
    assert client.told == {("last_fit", "over_year")}
    catalogue = reference().catalogue
    assert any(Kit.STEP in one.needs for one in ladder(client, Family.STEP, catalogue))

    again = await clears(village, "Nell")
    assert "told_last_fit" in again
    assert not record_of(village, "Nell").client.told
