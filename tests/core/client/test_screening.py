"""The proposal to the coach: the table, our own rules, how long it holds."""

from datetime import date, timedelta

import pytest

from core.client.client import Clearance
from core.client.screening import (
    NO_WORD_NEEDED,
    OUR_CONDITIONS,
    TABLE_CONDITIONS,
    WORD_WHATEVER_THE_ROW,
    Decision,
    HealthChange,
    IntensityWish,
    ScreeningAnswers,
    ScreeningSign,
    change_question_due,
    clearance_holds,
    propose,
)
from core.vocabulary import Condition

TODAY = date(2026, 3, 10)


def proposal(**answers):
    return propose(ScreeningAnswers(**({"active": False} | answers)), TODAY)


def test_a_healthy_inactive_person_may_start_and_build_up():
    found = proposal()
    assert (found.decision, found.needs_doctor, found.vigorous_later) == (
        Decision.START,
        False,
        True,
    )
    assert found.valid_until == TODAY + timedelta(days=365)


@pytest.mark.parametrize("condition", sorted(TABLE_CONDITIONS))
def test_each_condition_of_the_table_needs_the_doctor_first(condition):
    found = proposal(conditions={condition})
    assert (found.decision, found.needs_doctor) == (Decision.CLEARANCE_FIRST, True)
    assert found.table_conditions == (condition,)
    assert not found.vigorous_later


@pytest.mark.parametrize("condition", sorted(OUR_CONDITIONS))
def test_each_of_our_conditions_needs_the_doctors_word_beyond_the_table(condition):
    for active, decision in ((False, Decision.START), (True, Decision.CONTINUE)):
        found = proposal(active=active, conditions={condition})
        assert (found.decision, found.needs_doctor) == (decision, True)
        assert found.our_conditions == (condition,)
        assert found.table_conditions == ()
        assert not found.vigorous_later


@pytest.mark.parametrize("condition", sorted(NO_WORD_NEEDED))
def test_what_only_changes_a_plan_asks_for_no_doctor(condition):
    found = proposal(conditions={condition})
    assert (found.decision, found.needs_doctor) == (Decision.START, False)


def test_lung_disease_joint_replacement_and_arthritis_are_among_ours():
    assert {
        Condition.LUNG,
        Condition.ASTHMA,
        Condition.JOINT_REPLACEMENT,
        Condition.ARTHRITIS,
    } <= OUR_CONDITIONS


@pytest.mark.parametrize("sign", list(ScreeningSign))
@pytest.mark.parametrize(
    ("active", "decision"),
    [(False, Decision.CLEARANCE_FIRST), (True, Decision.STOP_UNTIL_CLEARED)],
)
def test_each_sign_stops_until_a_doctor_has_spoken(sign, active, decision):
    found = proposal(active=active, signs={sign})
    assert (found.decision, found.needs_doctor, found.vigorous_later) == (decision, True, False)
    assert found.signs == (sign,)


def test_hard_work_with_disease_needs_a_word_from_the_last_year():
    hard = {"active": True, "conditions": {Condition.HEART}, "wish": IntensityWish.VIGOROUS}
    assert proposal(**hard).decision is Decision.CLEARANCE_FOR_VIGOROUS
    assert proposal(**hard).needs_doctor
    recent = {
        "cleared_by": "Dr Singh",
        "cleared_on": TODAY - timedelta(days=365),
        "changed_since": False,
    }
    found = proposal(**hard, **recent)
    assert (found.decision, found.needs_doctor) == (Decision.CONTINUE, False)
    assert found.vigorous_later


@pytest.mark.parametrize(
    ("cleared_on", "changed", "open_"),
    [
        (TODAY, False, False),
        (TODAY - timedelta(days=365), False, False),
        (TODAY - timedelta(days=366), False, True),
        (TODAY + timedelta(days=1), False, True),
        (TODAY, True, True),
        (None, False, True),
    ],
)
def test_a_word_given_within_a_year_without_change_still_stands(cleared_on, changed, open_):
    found = proposal(
        active=True,
        conditions={Condition.ARTHRITIS},
        cleared_by="Dr Singh",
        cleared_on=cleared_on,
        changed_since=changed,
    )
    assert found.needs_doctor is open_
    assert found.vigorous_later is not open_


def test_validity_runs_from_the_doctors_word_where_it_stands():
    word = TODAY - timedelta(days=100)
    stands = proposal(cleared_by="Dr Singh", cleared_on=word, changed_since=False)
    assert stands.valid_until == word + timedelta(days=365)
    fallen = proposal(cleared_by="Dr Singh", cleared_on=word, changed_since=True)
    assert fallen.valid_until == TODAY + timedelta(days=365)


def test_not_sure_whether_anything_changed_counts_as_changed():
    assert ScreeningAnswers(active=True).changed_since


def test_moderate_work_with_disease_goes_on_when_active():
    found = proposal(active=True, conditions={Condition.DIABETES})
    assert (found.decision, found.needs_doctor) == (Decision.CONTINUE_MODERATE, False)
    assert not found.vigorous_later


CLEARED = Clearance("Coach", TODAY)


@pytest.mark.parametrize(
    ("clearance", "day", "changes", "holds"),
    [
        (None, TODAY, (), False),
        (CLEARED, TODAY, (), True),
        (CLEARED, TODAY - timedelta(days=1), (), False),
        (CLEARED, TODAY + timedelta(days=365), (), True),
        (CLEARED, TODAY + timedelta(days=366), (), False),
        (
            Clearance("Coach", TODAY, TODAY + timedelta(days=30)),
            TODAY + timedelta(days=30),
            (),
            True,
        ),
        (
            Clearance("Coach", TODAY, TODAY + timedelta(days=30)),
            TODAY + timedelta(days=31),
            (),
            False,
        ),
        (CLEARED, TODAY, (HealthChange.NOTHING,), True),
        (CLEARED, TODAY, (HealthChange.NOTHING, HealthChange.OPERATION), False),
        (CLEARED, TODAY, (HealthChange.NEW_DIAGNOSIS,), False),
        (CLEARED, TODAY, (HealthChange.NEW_MEDICINE,), False),
        (CLEARED, TODAY, (HealthChange.NEW_DOSE,), True),
        (CLEARED, TODAY, (HealthChange.NEW_DOSE, HealthChange.NEW_DIAGNOSIS), False),
        (CLEARED, TODAY, (HealthChange.HOSPITAL_STAY,), False),
    ],
)
def test_the_clearance_holds_until_its_date_or_a_change(clearance, day, changes, holds):
    assert clearance_holds(clearance, day, changes) is holds


@pytest.mark.parametrize(("days", "due"), [(0, False), (29, False), (30, True), (90, True)])
def test_changes_are_asked_monthly(days, due):
    assert change_question_due(TODAY - timedelta(days=days), TODAY) is due


GRAVE = (
    Condition.HEART_FAILURE,
    Condition.ANGINA,
    Condition.DEFIBRILLATOR,
    Condition.HEART_TRANSPLANT,
    Condition.VALVE,
    Condition.ANEURYSM,
    Condition.HOME_OXYGEN,
)


@pytest.mark.parametrize("condition", GRAVE)
def test_a_grave_heart_vessel_or_lung_condition_needs_the_word_of_the_active_too(condition):
    """The table asks for none for moderate work; arthritis needs one here as well (ours)."""
    found = proposal(active=True, conditions={condition})
    assert found.needs_doctor
    assert not found.vigorous_later
    assert condition in WORD_WHATEVER_THE_ROW | OUR_CONDITIONS


@pytest.mark.parametrize("condition", [Condition.HEART, Condition.DIABETES, Condition.ARTHRITIS])
@pytest.mark.parametrize("active", [True, False])
def test_a_word_with_name_and_day_counts_for_the_tables_conditions_too(condition, active):
    word = {"cleared_on": TODAY - timedelta(days=100), "changed_since": False}
    assert proposal(active=False, conditions={condition}, **word).needs_doctor
    found = proposal(active=active, conditions={condition}, cleared_by="Dr Singh", **word)
    assert (found.needs_doctor, found.word_stands) == (False, True)


def test_no_word_stands_against_a_sign():
    word = {
        "cleared_by": "Dr Singh",
        "cleared_on": TODAY - timedelta(days=10),
        "changed_since": False,
    }
    found = proposal(active=True, signs={ScreeningSign.CHEST}, **word)
    assert (found.needs_doctor, found.word_stands) == (True, False)
