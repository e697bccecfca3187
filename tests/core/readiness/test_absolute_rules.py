"""The rules beside the score: each alone, and together on one morning."""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from bot.reference.spoken import load_numbers
from core.client.client import Client, Limits
from core.client.operations import Side, operations_of
from core.readiness.absolute_rule import easier_of
from core.readiness.absolute_rules import (
    absolute_rules,
    dose_change_rules,
    illness_rules,
    item_rules,
)
from core.readiness.morning_questions import (
    IllKind,
    Morning,
    MorningQuestion,
    PainPlace,
    PainReport,
    PainSince,
    Settled,
    morning_from,
    read_answer,
)
from core.readiness.pain_rule import pain_rule
from core.readiness.reasons import DayReasonCode
from core.vocabulary import AlertLevel, Condition, DayPlan, Sign

TODAY = date(2026, 3, 10)
PLAIN = Client("A")
WORDS = load_numbers()
PLANNED, EASE, REST = DayPlan.AS_PLANNED, DayPlan.EASE_OFF, DayPlan.REST


def ago(days, **answers):
    return Morning(TODAY - timedelta(days=days), **answers)


def codes(morning, client=PLAIN, history=()):
    return [rule.code for rule in absolute_rules(morning, client, history)]


@pytest.mark.parametrize(
    ("one", "other", "easier"),
    [
        (PLANNED, PLANNED, PLANNED),
        (PLANNED, EASE, EASE),
        (REST, EASE, REST),
        (EASE, REST, REST),
        (PLANNED, REST, REST),
    ],
)
def test_the_easier_of_two_days(one, other, easier):
    assert easier_of(one, other) is easier


def test_a_good_morning_calls_no_rule():
    good = Morning(TODAY, 4, 4, 4, 4, 4, IllKind.NONE, warning_sign=False)
    assert codes(good) == []


@pytest.mark.parametrize(
    ("kind", "plan", "alert"),
    [
        (IllKind.FEVER, REST, AlertLevel.MENTION),
        (IllKind.BELOW_NECK, REST, AlertLevel.MENTION),
        (IllKind.ABOVE_NECK, EASE, None),
    ],
)
def test_illness(kind, plan, alert):
    (rule,) = illness_rules(Morning(TODAY, ill=kind), PLAIN)
    assert (rule.plan, rule.alert) == (plan, alert)


@pytest.mark.parametrize(
    "client",
    [
        replace(PLAIN, conditions=frozenset({Condition.JOINT_REPLACEMENT})),
        replace(PLAIN, operations=operations_of(["left knee"])),
    ],
)
def test_fever_with_a_replaced_joint_is_urgent(client):
    (rule,) = illness_rules(Morning(TODAY, ill=IllKind.FEVER), client)
    assert (rule.code, rule.alert) == (DayReasonCode.FEVER_JOINT, AlertLevel.URGENT)
    (cold,) = illness_rules(Morning(TODAY, ill=IllKind.BELOW_NECK), client)
    assert cold.alert is AlertLevel.MENTION


@pytest.mark.parametrize(
    ("answers", "expected"),
    [
        ({"sleep": 1}, [DayReasonCode.SLEEP_WORST]),
        ({"tiredness": 1}, [DayReasonCode.TIREDNESS_WORST]),
        ({"soreness": 1}, [DayReasonCode.SORENESS_WORST]),
        ({"stress": 1}, [DayReasonCode.STRESS_WORST]),
        ({"mood": 1}, [DayReasonCode.MOOD_WORST]),
        ({"sleep": 2}, []),
        ({"sleep": 2, "mood": 2}, [DayReasonCode.TWO_POOR]),
        ({"sleep": 2, "mood": 1}, [DayReasonCode.MOOD_WORST, DayReasonCode.TWO_POOR]),
        ({"sleep": 3, "mood": 3, "stress": 3}, []),
    ],
)
def test_one_worst_or_two_poor_answers_ease_off(answers, expected):
    found = item_rules(Morning(TODAY, **answers))
    assert [rule.code for rule in found] == expected
    assert all(rule.plan is EASE for rule in found)


def test_the_count_of_poor_answers_is_told():
    (rule,) = item_rules(Morning(TODAY, sleep=2, mood=2, stress=2))
    assert rule.numbers == {"count": 3}


def test_a_warning_sign_stops_the_day_and_reaches_the_coach():
    (rule,) = absolute_rules(Morning(TODAY, warning_sign=True), PLAIN)
    assert (rule.plan, rule.alert) == (REST, AlertLevel.URGENT)


def test_chest_pain_is_an_emergency_without_a_number():
    rule = pain_rule(PainReport(PainPlace.CHEST))
    assert (rule.alert, rule.sign) == (AlertLevel.EMERGENCY, Sign.CHEST_PAIN)
    assert rule.plan is REST
    assert pain_rule(PainReport(PainPlace.CHEST, 0)).alert is AlertLevel.EMERGENCY


def test_calf_pain_is_checked_the_same_day():
    rule = pain_rule(PainReport(PainPlace.CALF, 1))
    assert (rule.alert, rule.sign, rule.plan) == (AlertLevel.URGENT, Sign.CALF_CLOT, REST)


@pytest.mark.parametrize(
    ("level", "since", "sudden"),
    [
        (8, PainSince.TODAY, True),
        (8, None, True),
        (8, PainSince.WEEKS, False),
        (7, PainSince.TODAY, False),
    ],
)
def test_a_sudden_very_bad_headache_is_an_emergency(level, since, sudden):
    rule = pain_rule(PainReport(PainPlace.HEAD, level, since))
    assert (rule.alert is AlertLevel.EMERGENCY) is sudden
    assert rule.plan is REST


def test_no_pain_calls_no_rule():
    assert pain_rule(PainReport(PainPlace.KNEE, 0)) is None
    assert pain_rule(PainReport(PainPlace.CALF, 0)) is None


def test_an_unanswered_amount_is_read_the_careful_way():
    assert pain_rule(PainReport(PainPlace.KNEE)).plan is EASE
    assert pain_rule(PainReport(PainPlace.KNEE), careful=True).plan is REST


def test_a_painful_place_is_spared():
    assert pain_rule(PainReport(PainPlace.WRIST, 3)).spare_place is PainPlace.WRIST
    assert pain_rule(PainReport(PainPlace.WRIST, 1)).spare_place is PainPlace.WRIST
    assert pain_rule(PainReport(PainPlace.WRIST, 7)).spare_place is PainPlace.WRIST


def test_a_replaced_joint_is_careful_and_others_are_not():
    client = replace(PLAIN, operations=operations_of(["Left Knee"]))
    knee, hip = PainReport(PainPlace.KNEE, 4), PainReport(PainPlace.HIP, 4)
    assert codes(Morning(TODAY, new_pain=knee), client) == [DayReasonCode.PAIN_STOP_CAREFUL]
    assert codes(Morning(TODAY, new_pain=hip), client) == [DayReasonCode.PAIN_EASIER]


def test_the_second_of_two_replaced_joints_is_careful_too():
    client = replace(PLAIN, operations=operations_of(["right hip", "left knee"]))
    for place in (PainPlace.KNEE, PainPlace.HIP):
        morning = Morning(TODAY, new_pain=PainReport(place, 4))
        assert codes(morning, client) == [DayReasonCode.PAIN_STOP_CAREFUL]


@pytest.mark.parametrize(
    ("joint", "told", "code"),
    [
        ("left ankle", "left ankle", DayReasonCode.PAIN_STOP_CAREFUL),
        ("left ankle", "ankle", DayReasonCode.PAIN_STOP_CAREFUL),
        ("left ankle", "right ankle", DayReasonCode.PAIN_EASIER),
        ("other joint", "right ankle", DayReasonCode.PAIN_STOP_CAREFUL),
        ("other joint", "back", DayReasonCode.PAIN_STOP_CAREFUL),
        ("other joint", "elsewhere", DayReasonCode.PAIN_STOP_CAREFUL),
        ("other joint", "belly", DayReasonCode.PAIN_EASIER),
    ],
)
def test_a_morning_pain_is_careful_where_an_operated_joint_can_be_meant(joint, told, code):
    client = replace(PLAIN, operations=operations_of([joint]))
    place = read_answer(MorningQuestion.PAIN_PLACE, told, client, WORDS)
    answers = {
        MorningQuestion.TROUBLE: "pain",
        MorningQuestion.PAIN_PLACE: place,
        MorningQuestion.PAIN_LEVEL: 4,
    }
    assert codes(morning_from(TODAY, answers), client) == [code]


def test_a_rise_is_not_taken_from_the_other_side():
    client = replace(PLAIN, operations=operations_of(["knee"]))
    left, right = (PainReport(PainPlace.KNEE, 1, side=side) for side in Side)
    morning = Morning(TODAY, new_pain=replace(right, how_much=3))
    assert codes(morning, client, [ago(1, new_pain=left)]) == [DayReasonCode.PAIN_EASIER]
    assert codes(morning, client, [ago(1, new_pain=right)]) == [DayReasonCode.PAIN_RISING]


@pytest.mark.parametrize("told", ["left chest", "right calf"])
def test_a_side_is_kept_for_joints_only(told):
    """Pain in the chest begins the red-flag flow, whichever side it is said to be on."""
    assert read_answer(MorningQuestion.PAIN_PLACE, told, PLAIN, WORDS) == told.split()[1]


def test_of_two_rules_equally_loud_the_stricter_comes_first():
    morning = Morning(TODAY, settled=Settled.NO, pulse=104, pulse_again=104)
    found = [rule.plan for rule in absolute_rules(morning, PLAIN)]
    assert found == [REST, EASE]


def test_a_rise_is_taken_from_the_last_report_of_the_same_place():
    client = replace(PLAIN, operations=operations_of(["knee"]))
    history = [
        ago(9, new_pain=PainReport(PainPlace.KNEE, 3)),
        ago(2, new_pain=PainReport(PainPlace.KNEE, 1)),
        ago(1, new_pain=PainReport(PainPlace.HIP, 3)),
    ]
    morning = Morning(TODAY, new_pain=PainReport(PainPlace.KNEE, 3))
    assert codes(morning, client, history) == [DayReasonCode.PAIN_RISING]
    assert codes(morning, client, history[::-1]) == [DayReasonCode.PAIN_RISING]
    assert codes(morning, client, history[:1]) == [DayReasonCode.PAIN_EASIER]


def test_what_has_not_settled_by_morning_eases_the_day():
    """Silbernagel 2007."""
    assert codes(Morning(TODAY, settled=Settled.NO)) == [DayReasonCode.NOT_SETTLED]
    assert codes(Morning(TODAY, settled=Settled.PARTLY)) == []


def test_weight_speaks_only_in_heart_failure():
    failing = replace(PLAIN, conditions=frozenset({Condition.HEART_FAILURE}))
    history, morning = [ago(2, weight_kg=70.0)], Morning(TODAY, weight_kg=72.0)
    assert codes(morning, failing, history) == [DayReasonCode.WEIGHT_UP]
    assert codes(morning, PLAIN, history) == []
    assert codes(Morning(TODAY), failing, history) == []


def test_a_very_low_sugar_yesterday_counts_today_and_no_longer():
    assert codes(Morning(TODAY), PLAIN, [ago(1, glucose_mmol=2.5)]) == [
        DayReasonCode.SUGAR_VERY_LOW
    ]
    assert codes(Morning(TODAY), PLAIN, [ago(2, glucose_mmol=2.5)]) == []


def test_later_mornings_are_no_history():
    later = Morning(TODAY + timedelta(days=1), weight_kg=60.0)
    failing = replace(PLAIN, conditions=frozenset({Condition.HEART_FAILURE}))
    assert codes(Morning(TODAY, weight_kg=72.0), failing, [later]) == []


def test_a_very_high_pressure_with_a_warning_sign_is_an_emergency():
    morning = Morning(TODAY, warning_sign=True, systolic=185, diastolic=90)
    first, second = absolute_rules(morning, PLAIN)
    assert (first.code, first.alert) == (DayReasonCode.PRESSURE_HOLD, AlertLevel.EMERGENCY)
    assert second.code is DayReasonCode.WARNING_SIGN
    calm = absolute_rules(replace(morning, warning_sign=False), PLAIN)
    assert [rule.alert for rule in calm] == [AlertLevel.URGENT]


def test_the_loudest_rule_comes_first():
    morning = Morning(
        TODAY,
        sleep=1,
        ill=IllKind.BELOW_NECK,
        systolic=185,
        diastolic=90,
        new_pain=PainReport(PainPlace.CHEST),
    )
    assert codes(morning) == [
        DayReasonCode.PAIN_CHEST,
        DayReasonCode.PRESSURE_HOLD,
        DayReasonCode.ILL_BELOW_NECK,
        DayReasonCode.SLEEP_WORST,
    ]


@pytest.mark.parametrize(
    ("days_ago", "eased"), [(-1, False), (0, True), (13, True), (14, False), (None, False)]
)
def test_a_changed_dose_eases_the_two_weeks_after_it(days_ago, eased):
    """Ours, the careful side; the coach hears of it when it is told, not each morning."""
    changed = None if days_ago is None else TODAY - timedelta(days=days_ago)
    client = replace(PLAIN, medicine_changed_on=changed)
    found = dose_change_rules(TODAY, client)
    assert [(one.code, one.plan, one.alert) for one in found] == (
        [(DayReasonCode.DOSE_CHANGED, EASE, None)] if eased else []
    )
    assert (DayReasonCode.DOSE_CHANGED in codes(Morning(TODAY, 4, 4, 4, 4, 4), client)) is eased


@pytest.mark.parametrize(
    ("conditions", "line", "pulse", "rests"),
    [
        ({Condition.RHYTHM}, 110.0, 105, False),
        ({Condition.RHYTHM}, 110.0, 110, True),
        ({Condition.RHYTHM}, 150.0, 112, True),
        ({Condition.RHYTHM}, 100.0, 105, True),
        (set(), 110.0, 105, True),
        ({Condition.RHYTHM}, 110.0, 121, True),
    ],
)
def test_the_pulse_line_rises_for_an_uneven_rhythm_only_and_to_110(conditions, line, pulse, rests):
    client = Client("Bob", conditions=frozenset(conditions), limits=Limits(pulse_line=line))
    found = absolute_rules(Morning(on=date(2026, 6, 1), pulse=pulse, pulse_again=pulse), client)
    assert any(rule.plan is DayPlan.REST for rule in found) is rests
    assert any(rule.alert is AlertLevel.URGENT for rule in found) is (pulse > 120)
