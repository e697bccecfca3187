"""Home tests against Rikli and Jones 1999 and 2013, CDC STEADI and Bohannon 2006."""

import pytest

from core.client.home_tests import (
    CHAIR_CM,
    CURL_KG,
    HomeTest,
    Norm,
    NormBand,
    norm_for,
    read_test,
)
from core.vocabulary import Sex

F, M = Sex.FEMALE, Sex.MALE
# First age of the group: men low, high, independent; women the same.
CHAIR_STAND = {
    60: (14, 19, 17, 12, 17, 15),
    65: (12, 18, 16, 11, 16, 15),
    70: (12, 17, 15, 10, 15, 14),
    75: (11, 17, 14, 10, 15, 13),
    80: (10, 15, 13, 9, 14, 12),
    85: (8, 14, 11, 8, 13, 11),
    90: (7, 12, 9, 4, 11, 9),
}
ARM_CURL = {
    60: (16, 22, 19, 13, 19, 17),
    65: (15, 21, 18, 12, 18, 17),
    70: (14, 21, 17, 12, 17, 16),
    75: (13, 19, 16, 11, 17, 15),
    80: (13, 19, 15, 10, 16, 14),
    85: (11, 17, 13, 10, 15, 13),
    90: (10, 14, 11, 8, 13, 11),
}
CELLS = [
    (test, first + years, sex, Norm(*(row[:3] if sex is M else row[3:])))
    for test, table in ((HomeTest.CHAIR_STAND, CHAIR_STAND), (HomeTest.ARM_CURL, ARM_CURL))
    for first, row in table.items()
    for years in (0, 4)
    for sex in (M, F)
]


@pytest.mark.parametrize(("test", "age", "sex", "norm"), CELLS)
def test_norms_by_age_and_sex(test, age, sex, norm):
    """Middle half: Rikli and Jones 1999 (women's arm curl from memory); independence: 2013, from
    memory."""
    assert norm_for(test, age, sex) == norm


@pytest.mark.parametrize(("test", "age", "sex", "norm"), CELLS)
def test_results_at_the_edges_of_the_middle_half(test, age, sex, norm):
    """Below is under the low end; STEADI uses the same line for the chair stand."""
    assert read_test(test, norm.low - 1, age, sex).band is NormBand.BELOW
    assert read_test(test, norm.low, age, sex).band is NormBand.WITHIN
    assert read_test(test, norm.high, age, sex).band is NormBand.WITHIN
    assert read_test(test, norm.high + 1, age, sex).band is NormBand.ABOVE


@pytest.mark.parametrize(
    ("age", "sex", "below"),
    [
        (60, M, 14), (65, M, 12), (70, M, 12), (75, M, 11), (80, M, 10), (85, M, 8), (90, M, 7),
        (60, F, 12), (65, F, 11), (70, F, 10), (75, F, 10), (80, F, 9), (85, F, 8), (90, F, 4),
    ],
)  # fmt: skip
def test_chair_stand_below_average_is_a_falls_risk(age, sex, below):
    """CDC STEADI, 30-second chair stand: a below-average score."""
    assert read_test(HomeTest.CHAIR_STAND, below - 1, age, sex).falls_risk
    assert not read_test(HomeTest.CHAIR_STAND, below, age, sex).falls_risk


def test_weights_and_seat_of_the_standard_tests():
    """Rikli and Jones 1999: 5 lb for women, 8 lb for men, a 43 cm seat."""
    assert CURL_KG == {F: 2.3, M: 3.6}
    assert CHAIR_CM == 43.0


@pytest.mark.parametrize(
    ("age", "mean"), [(60, 27.0), (69, 27.0), (70, 17.2), (80, 8.5), (99, 8.5)]
)
def test_one_leg_stand_against_the_mean_of_three(age, mean):
    """Bohannon 2006, Top Geriatr Rehabil 22:70-7, eyes open."""
    assert read_test(HomeTest.ONE_LEG_STAND, mean, age, F).band is NormBand.WITHIN
    assert read_test(HomeTest.ONE_LEG_STAND, mean - 0.1, age, F).band is NormBand.BELOW


def test_under_five_seconds_on_one_leg_is_a_falls_risk():
    """Cut-off in use with Bohannon 2006."""
    assert read_test(HomeTest.ONE_LEG_STAND, 4.9, 75, M).falls_risk
    assert not read_test(HomeTest.ONE_LEG_STAND, 5.0, 75, M).falls_risk


@pytest.mark.parametrize(("age", "line"), [(60, 11.4), (70, 12.6), (80, 14.8), (89, 14.8)])
def test_five_chair_stands_worse_than_average(age, line):
    """Bohannon 2006, Percept Mot Skills 103:215-22."""
    assert read_test(HomeTest.FIVE_CHAIR_STANDS, line, age, M).band is NormBand.WITHIN
    assert read_test(HomeTest.FIVE_CHAIR_STANDS, line + 0.1, age, M).band is NormBand.BELOW


def test_over_fifteen_seconds_for_five_chair_stands_is_a_falls_risk():
    """Buatois 2008, J Am Geriatr Soc 56:1575-7."""
    assert read_test(HomeTest.FIVE_CHAIR_STANDS, 15.1, 70, F).falls_risk
    assert not read_test(HomeTest.FIVE_CHAIR_STANDS, 15.0, 70, F).falls_risk
