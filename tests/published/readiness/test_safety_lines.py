"""The lines of pain, pulse, pressure, sugar and weight against the bodies that set them."""

from datetime import date, timedelta

import pytest

from core.readiness.morning_numbers import (
    pressure_rules,
    pulse_rules,
    sugar_rules,
    weight_rules,
)
from core.readiness.morning_questions import Morning, PainPlace, PainReport
from core.readiness.pain_rule import pain_rule
from core.readiness.reasons import DayReasonCode
from core.vocabulary import MMOL_PER_MG, AlertLevel, DayPlan

TODAY = date(2026, 3, 10)
PLANNED, EASE, REST = DayPlan.AS_PLANNED, DayPlan.EASE_OFF, DayPlan.REST


def _spoken(found):
    return [(rule.code, rule.plan, rule.alert) for rule in found]


@pytest.mark.parametrize(
    ("level", "plan"),
    [(1, PLANNED), (2, PLANNED), (3, EASE), (4, EASE), (5, EASE), (6, REST), (10, REST)],
)
def test_pain_bands(level, plan):
    """Thomee 1997; Silbernagel 2007; Ageberg 2010: 0-2 safe, over 2 to 5 acceptable, over 5 not."""
    rule = pain_rule(PainReport(PainPlace.KNEE, level))
    assert rule is not None
    assert rule.plan is plan


def test_pain_from_seven_and_a_half_is_severe():
    """Boonstra 2014, Pain: severe from 7.5; a whole number from 8 chases the coach."""
    for level, alert in ((7, AlertLevel.MENTION), (8, AlertLevel.URGENT)):
        rule = pain_rule(PainReport(PainPlace.KNEE, level))
        assert rule is not None
        assert rule.alert is alert


@pytest.mark.parametrize(
    ("level", "before", "plan"),
    [(3, None, EASE), (4, None, REST), (3, 2, EASE), (3, 1, REST), (2, 0, REST), (2, 1, PLANNED)],
)
def test_a_careful_joint_stops_at_four_or_a_rise_of_two(level, before, plan):
    """Our own stricter line for a replaced, operated, hot or swollen joint."""
    rule = pain_rule(PainReport(PainPlace.KNEE, level), careful=True, before=before)
    assert rule is not None
    assert rule.plan is plan


@pytest.mark.parametrize(
    ("pulse", "again", "expected"),
    [
        (99, None, []),
        (100, None, [(DayReasonCode.PULSE_REPEAT, REST, None)]),
        (100, 99, []),
        (100, 100, [(DayReasonCode.PULSE_FAST, REST, AlertLevel.MENTION)]),
        (120, 120, [(DayReasonCode.PULSE_FAST, REST, AlertLevel.MENTION)]),
        (121, None, [(DayReasonCode.PULSE_VERY_FAST, REST, AlertLevel.URGENT)]),
        (121, 90, [(DayReasonCode.PULSE_VERY_FAST, REST, AlertLevel.URGENT)]),
        (101, 121, [(DayReasonCode.PULSE_VERY_FAST, REST, AlertLevel.URGENT)]),
        (40, None, []),
        (39, None, [(DayReasonCode.PULSE_SLOW, REST, AlertLevel.MENTION)]),
        (None, None, []),
    ],
)
def test_resting_pulse(pulse, again, expected):
    """ACSM and heart rehabilitation: 100 relative, over 120 absolute; under 40 from memory."""
    assert _spoken(pulse_rules(pulse, again)) == expected


HOLD = [(DayReasonCode.PRESSURE_HOLD, REST, AlertLevel.URGENT)]
LIGHT = [(DayReasonCode.PRESSURE_LIGHT, EASE, AlertLevel.MENTION)]


@pytest.mark.parametrize(
    ("systolic", "diastolic", "expected"),
    [
        (180, 80, HOLD),
        (120, 110, HOLD),
        (179, 109, LIGHT),
        (160, 80, LIGHT),
        (120, 100, LIGHT),
        (159, 99, []),
        (90, 60, []),
        (89, 60, [(DayReasonCode.PRESSURE_LOW, REST, AlertLevel.MENTION)]),
        (None, None, []),
    ],
)
def test_resting_pressure(systolic, diastolic, expected):
    """AHA resistance training: 180/110 absolute, 160/100 relative; under 90 from memory."""
    found = pressure_rules(systolic, diastolic)
    assert _spoken(found) == expected
    assert all(rule.no_holds for rule in found if rule.code is not DayReasonCode.PRESSURE_LOW)


def test_high_pressure_with_symptoms_is_an_emergency():
    """Common practice of all bodies: hypertensive emergency."""
    (rule,) = pressure_rules(185, 100, with_symptoms=True)
    assert rule.alert is AlertLevel.EMERGENCY


VERY_LOW = [(DayReasonCode.SUGAR_VERY_LOW, REST, AlertLevel.URGENT)]
LOW = [(DayReasonCode.SUGAR_LOW, REST, AlertLevel.URGENT)]
EAT = [(DayReasonCode.SUGAR_EAT_FIRST, PLANNED, None)]
HIGH = [(DayReasonCode.SUGAR_HIGH, EASE, AlertLevel.MENTION)]
VERY_HIGH = [(DayReasonCode.SUGAR_VERY_HIGH, REST, AlertLevel.URGENT)]


@pytest.mark.parametrize(
    ("mmol", "expected"),
    [
        (2.8, VERY_LOW),
        (2.9, LOW),
        (3.8, LOW),
        (3.9, LOW),
        (4.0, EAT),
        (4.9, EAT),
        (5.0, []),
        (13.8, []),
        (13.9, HIGH),
        (19.3, HIGH),
        (19.4, VERY_HIGH),
        (None, []),
    ],
)
def test_sugar_before_exercise(mmol, expected):
    """Colberg 2016, Diabetes Care 39:2065-79, Table 1; Turner 2019, Sports Med Open 5:20.

    Their low begins under 3.9; ours under 4.0, as in UK patient leaflets (from memory).
    """
    assert _spoken(sugar_rules(mmol)) == expected


@pytest.mark.parametrize(("mmol", "expected"), [(3.9, LOW), (4.0, []), (4.9, [])])
def test_eating_first_is_for_those_whose_medicine_can_cause_lows(mmol, expected):
    """ADA Standards of Care: insulin and pills that set insulin free (from memory)."""
    assert _spoken(sugar_rules(mmol, lows_possible=False)) == expected


@pytest.mark.parametrize(
    ("mg", "expected"),
    [
        (69, LOW),
        (71, LOW),
        (72, EAT),
        (89, EAT),
        (90, []),
        (249, []),
        (250, HIGH),
        (348, HIGH),
        (350, VERY_HIGH),
    ],
)
def test_the_same_lines_in_the_other_unit(mg, expected):
    """Colberg 2016 prints 70, 90, 250 and 350 mg/dL; 349 rounds to the careful side."""
    assert _spoken(sugar_rules(mg * MMOL_PER_MG)) == expected


@pytest.mark.parametrize(("yesterday", "expected"), [(2.8, VERY_LOW), (2.9, []), (6.0, [])])
def test_a_severe_low_forbids_exercise_for_a_day(yesterday, expected):
    """Colberg 2016: a severe low (under 2.9 mmol/L) in the last 24 hours."""
    assert _spoken(sugar_rules(7.0, yesterday)) == expected


@pytest.mark.parametrize(
    ("days_ago", "rise", "speaks"),
    [(1, 2.0, True), (3, 2.0, True), (4, 5.0, False), (1, 1.9, False), (2, 2.4, True)],
)
def test_two_kilos_in_one_to_three_days(days_ago, rise, speaks):
    """Heart-failure exercise advice: 2 kg in 1 to 3 days."""
    before = Morning(TODAY - timedelta(days=days_ago), weight_kg=80.0)
    found = weight_rules(Morning(TODAY, weight_kg=80.0 + rise), [before])
    assert bool(found) is speaks
    if speaks:
        assert found[0].alert is AlertLevel.URGENT
        assert found[0].numbers["rise"] == pytest.approx(rise)


def test_the_rise_is_from_the_lowest_weight_of_the_three_days():
    """Heart-failure exercise advice: 2 kg in 1 to 3 days, so that a slow start cannot hide it."""
    before = [
        Morning(TODAY - timedelta(days=2), weight_kg=79.0),
        Morning(TODAY - timedelta(days=1), weight_kg=80.5),
    ]
    (rule,) = weight_rules(Morning(TODAY, weight_kg=81.0), before)
    assert rule.numbers["rise"] == 2.0
    assert weight_rules(Morning(TODAY, weight_kg=81.0), before[1:]) == []
    assert weight_rules(Morning(TODAY, weight_kg=81.0), [Morning(TODAY, weight_kg=70.0)]) == []


@pytest.mark.parametrize(
    ("pulse", "again", "told"), [(104, 110, 110), (110, 104, 110), (130, 99, 130), (110, 39, 39)]
)
def test_the_pulse_that_is_told_is_the_one_that_counted(pulse, again, told):
    """The faster of two fast ones; a slow one where that is what speaks (from memory)."""
    (rule,) = pulse_rules(pulse, again)
    assert rule.numbers == {"pulse": told}


def test_yesterdays_sugar_is_compared_in_tenths_too():
    """Colberg 2016: 52 mg/dL is printed beside 2.9 mmol/L."""
    assert sugar_rules(None, 52 * MMOL_PER_MG) == []
    assert _spoken(sugar_rules(None, 51 * MMOL_PER_MG)) == VERY_LOW
