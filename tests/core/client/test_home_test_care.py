"""Who should rather not do a home test, who needs company, and what a result says of strength."""

from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.reference.catalogue import load_steering
from core.client.client import Client, KitAtHome
from core.client.home_test_care import can_be, needs_company, rather_not
from core.client.home_tests import HomeTest, RatherNot
from core.dose.dose_model import STANDARD_MODEL
from core.dose.home_test_word import STRENGTH, HomeTestDone, strength_word
from core.dose.prior import DOSED
from core.vocabulary import Condition, Family, Sex, Spare

ON = date(2026, 3, 3)
TABLE = load_steering()
FIT = Client(
    name="Ann", birth_year=1956, sex=Sex.FEMALE, kit=KitAtHome(chair=43, bench=90, bottle=2.0)
)
CHAIR, CURL, ONE_LEG, FIVE = (
    HomeTest.CHAIR_STAND,
    HomeTest.ARM_CURL,
    HomeTest.ONE_LEG_STAND,
    HomeTest.FIVE_CHAIR_STANDS,
)


@pytest.mark.parametrize("test", HomeTest)
def test_nothing_speaks_against_a_fit_client_with_all_kit(test: HomeTest):
    assert rather_not(test, FIT, ON, TABLE) == ()


@pytest.mark.parametrize(
    ("test", "changed", "reason"),
    [
        (CHAIR, {"conditions": {Condition.ANGINA}}, RatherNot.HEART),
        (FIVE, {"conditions": {Condition.HEART_FAILURE}}, RatherNot.HEART),
        (CURL, {"conditions": {Condition.HEART_FAILURE}}, RatherNot.HEART),
        (CHAIR, {"spares": {Spare.KNEE}}, RatherNot.JOINT),
        (FIVE, {"spares": {Spare.BACK}}, RatherNot.JOINT),
        (CURL, {"spares": {Spare.WRIST}}, RatherNot.JOINT),
        (ONE_LEG, {"spares": {Spare.ANKLE}}, RatherNot.JOINT),
        (ONE_LEG, {"conditions": {Condition.NERVE_LOSS}}, RatherNot.NUMB_FEET),
        (CHAIR, {"conditions": {Condition.SPINE_FRACTURE}}, RatherNot.SPINE),
        (CURL, {"pacemaker_on": date(2026, 2, 1)}, RatherNot.NEW_PACEMAKER),
        (CHAIR, {"kit": KitAtHome(chair=None)}, RatherNot.NO_CHAIR),
        (CURL, {"kit": KitAtHome(chair=43)}, RatherNot.NO_WEIGHT),
        (ONE_LEG, {"kit": KitAtHome(chair=43)}, RatherNot.NO_HAND_HOLD),
    ],
)
def test_what_speaks_against_a_test_is_named(test, changed, reason):
    """Heart failure and angina: the manual of Rikli and Jones 2013, from memory; the rest ours."""
    values = {k: frozenset(v) if isinstance(v, set) else v for k, v in changed.items()}
    assert rather_not(test, replace(FIT, **values), ON, TABLE) == (reason,)


@pytest.mark.parametrize(
    ("test", "changed"),
    [
        (CURL, {"spares": frozenset({Spare.KNEE})}),
        (CHAIR, {"spares": frozenset({Spare.WRIST})}),
        (CHAIR, {"kit": KitAtHome(chair=43)}),
        (CURL, {"pacemaker_on": date(2026, 1, 20)}),
        (ONE_LEG, {"kit": KitAtHome(chair=None, bench=90)}),
    ],
)
def test_what_does_not_matter_for_a_test_does_not_speak_against_it(test, changed):
    assert rather_not(test, replace(FIT, **changed), ON, TABLE) == ()


def test_a_pacemaker_is_new_for_six_weeks():
    day_41 = replace(FIT, pacemaker_on=date(2026, 1, 21))
    day_42 = replace(FIT, pacemaker_on=date(2026, 1, 20))
    assert rather_not(CURL, day_41, ON, TABLE) == (RatherNot.NEW_PACEMAKER,)
    assert rather_not(CURL, day_42, ON, TABLE) == ()


def test_on_one_leg_nobody_is_ever_alone():
    assert needs_company(ONE_LEG, FIT, ON, TABLE)
    assert not needs_company(CHAIR, FIT, ON, TABLE)


@pytest.mark.parametrize(
    "frail",
    [
        {"birth_year": 1946},
        {"conditions": frozenset({Condition.NERVE_LOSS})},
        {"conditions": frozenset({Condition.THIN_BONES})},
        {"conditions": frozenset({Condition.ANGINA})},
        {"conditions": frozenset({Condition.STROKE})},
    ],
)
def test_company_is_needed_where_a_fall_or_faint_would_be_worse(frail):
    assert needs_company(CHAIR, replace(FIT, **frail), ON, TABLE)


def test_at_79_the_other_tests_may_be_done_alone():
    assert not needs_company(CURL, replace(FIT, birth_year=1947), ON, TABLE)


@pytest.mark.parametrize(
    ("test", "lowest", "highest"), [(CHAIR, 0, 40), (CURL, 0, 60), (ONE_LEG, 0, 60), (FIVE, 3, 120)]
)
def test_a_result_that_nobody_can_have_is_not_believed(test, lowest, highest):
    """Common practice: the ends are far outside every norm of Rikli and Jones 1999."""
    assert can_be(test, lowest)
    assert can_be(test, highest)
    assert not can_be(test, lowest - 1)
    assert not can_be(test, highest + 1)


def test_a_weak_chair_stand_lowers_the_first_guess_of_the_legs_only():
    word = strength_word([HomeTestDone(CHAIR, ON, 6)], 1956, Sex.FEMALE)
    assert word[Family.SQUAT] == word[Family.LUNGE] < 0
    assert Family.PUSH not in word


def test_a_strong_arm_curl_raises_the_arms_by_less_than_a_weak_one_lowers_them():
    strong = strength_word([HomeTestDone(CURL, ON, 30)], 1956, Sex.FEMALE)[Family.PUSH]
    weak = strength_word([HomeTestDone(CURL, ON, 3)], 1956, Sex.FEMALE)[Family.PUSH]
    assert 0 < strong < -weak


def test_the_newest_test_of_a_family_counts_and_pushing_with_the_arms_is_weak():
    older = HomeTestDone(CHAIR, date(2026, 1, 1), 30)
    newer = HomeTestDone(FIVE, ON, 9.0, arms_used=True)
    assert strength_word([newer, older], 1956, Sex.FEMALE)[Family.SQUAT] < 0


def test_the_age_of_the_day_of_the_test_counts():
    """Rikli and Jones 1999: nine stands are below the middle half at 79 and within it at 80."""
    at_79 = HomeTestDone(CHAIR, date(2025, 3, 3), 9)
    assert strength_word([at_79], 1946, Sex.FEMALE)[Family.SQUAT] < 0
    at_80 = HomeTestDone(CHAIR, date(2026, 3, 3), 9)
    assert strength_word([at_80], 1946, Sex.FEMALE)[Family.SQUAT] == 0


def test_the_one_leg_stand_says_nothing_of_a_dose():
    assert strength_word([HomeTestDone(ONE_LEG, ON, 1)], 1956, Sex.FEMALE) == {}


def test_without_a_norm_nothing_is_said_of_strength():
    """Rikli and Jones 1999 begin at 60."""
    assert strength_word([HomeTestDone(CURL, ON, 3)], 1970, Sex.FEMALE)[Family.PUSH] == 0


@given(
    test=st.sampled_from(list(HomeTest)),
    result=st.floats(0, 120),
    year=st.integers(1926, 1976),
    sex=st.sampled_from(list(Sex)),
)
def test_no_result_moves_a_first_guess_further_than_its_own_uncertainty(test, result, year, sex):
    word = strength_word([HomeTestDone(test, ON, result)], year, sex)
    assert set(word) <= set(DOSED)
    assert all(abs(strength) < STANDARD_MODEL.start_sd for strength in word.values())
    assert max(STRENGTH.values()) < -min(STRENGTH.values())
