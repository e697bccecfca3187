"""The coach's word and home tests before the first session."""

from datetime import date

import pytest

from core.client.home_tests import HomeTest
from core.dose.history import History
from core.dose.home_test_word import HomeTestDone, strength_word
from core.dose.prior import DOSED, CoachWord, start_word, starting_point
from core.dose.session import believed_capacity, plan_session
from core.readiness.readiness import assess
from core.vocabulary import Aim, Family, Sex
from tests.support.dose_cases import MONDAY, client_of
from tests.support.loaded import catalogue

CATALOGUE = catalogue()
WEAK_LEGS = strength_word(
    [HomeTestDone(HomeTest.CHAIR_STAND, date(2026, 1, 2), 4)], 1950, Sex.FEMALE
)
STRONG_LEGS = strength_word(
    [HomeTestDone(HomeTest.CHAIR_STAND, date(2026, 1, 2), 22)], 1950, Sex.FEMALE
)


def test_without_a_word_and_a_test_nothing_moves():
    assert set(start_word(None, {}).values()) == {0.0}
    assert set(start_word(CoachWord.USUAL, {}).values()) == {0.0}


@pytest.mark.parametrize(
    ("told", "tested", "squat", "push"),
    [
        (CoachWord.LESS_FIT, {}, -0.20, -0.20),
        (CoachWord.FITTER, {}, 0.10, 0.10),
        (None, WEAK_LEGS, -0.20, 0.0),
        (CoachWord.FITTER, WEAK_LEGS, -0.20, 0.10),
        (CoachWord.LESS_FIT, STRONG_LEGS, -0.20, -0.20),
        (CoachWord.FITTER, STRONG_LEGS, 0.28, 0.10),
        (CoachWord.LESS_FIT, WEAK_LEGS, -0.20, -0.20),
    ],
)
def test_a_doubt_counts_whoever_has_it_and_praise_counts_once(told, tested, squat, push):
    word = start_word(told, tested)
    assert word[Family.SQUAT] == pytest.approx(squat)
    assert word[Family.PUSH] == pytest.approx(push)


def test_the_word_moves_every_start_value_by_what_it_says():
    client = client_of(Aim.STRENGTH)
    plain = starting_point(client, CATALOGUE, year=2026)
    less = starting_point(client, CATALOGUE, year=2026, word=start_word(CoachWord.LESS_FIT, {}))
    for family in plain.families:
        moved = less.baseline(family).mean - plain.baseline(family).mean
        assert moved == pytest.approx(-0.20)
    assert set(plain.families) <= set(DOSED)


@pytest.mark.parametrize(
    ("birth_year", "sex", "stands", "rungs"),
    [
        (1967, Sex.MALE, 19, {"squat_held", "squat_touch_chair", "squat_free"}),
        (1967, Sex.FEMALE, 5, {"squat_hands_help", "squat_high_seat", "squat_small_held"}),
        (1961, Sex.FEMALE, 24, {"squat_touch_chair", "squat_free", "squat_bottle", "squat_pause"}),
        (1941, Sex.FEMALE, 4, {"squat_hands_help", "squat_leg_forward", "squat_small_held"}),
    ],
)
def test_chair_stands_say_on_which_rung_to_begin_at_any_age(birth_year, sex, stands, rungs):
    """Rung by count of stands: common practice, from memory."""
    client = client_of(Aim.STRENGTH, birth_year=birth_year, sex=sex, stature_cm=170, mass_kg=72)
    done = HomeTestDone(HomeTest.CHAIR_STAND, MONDAY, stands)
    word = start_word(None, strength_word([done], birth_year, sex))
    squat = first_plan(word=word, client=client).prescriptions[0]
    assert squat.step.rung in rungs


def first_plan(told: CoachWord | None = None, *, word=None, client=None):
    client = client or client_of(Aim.STRENGTH)
    readiness = assess([], None, client, on=MONDAY)
    capacity = believed_capacity(
        client, History(), CATALOGUE, year=MONDAY.year, word=word or start_word(told, {})
    )
    return plan_session(client, History(), readiness, CATALOGUE, MONDAY, capacity=capacity)


def test_who_is_called_less_fit_begins_on_easier_rungs():
    less, usual = (first_plan(told) for told in (CoachWord.LESS_FIT, CoachWord.USUAL))
    pairs = list(zip(less.prescriptions, usual.prescriptions, strict=True))
    dosed = [(low, high) for low, high in pairs if low.family in DOSED]

    assert all(low.step.demand <= high.step.demand for low, high in dosed)
    assert sum(low.step.demand < high.step.demand for low, high in dosed) >= 3
