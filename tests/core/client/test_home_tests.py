"""Home tests: what is minded, what is proposed, and the edges of the norms."""

from pathlib import Path

import pytest
import yaml

from core.client.home_tests import CAUTIONS, HomeTest, Mind, NormBand, norm_for, read_test
from core.errors import OutOfRangeError
from core.vocabulary import Family, Sex

MOVEMENTS = Path(__file__).parents[3] / "core" / "movements"


def test_one_leg_is_never_done_alone_or_without_a_hand():
    assert {Mind.SOMEBODY_PRESENT, Mind.HAND_ON_BENCH} <= set(CAUTIONS[HomeTest.ONE_LEG_STAND])


def test_every_test_says_to_stop_when_unwell():
    assert set(CAUTIONS) == set(HomeTest)
    assert all(Mind.STOP_IF_UNWELL in minded for minded in CAUTIONS.values())


def test_pushing_up_with_the_arms_counts_as_none():
    """Rikli and Jones 1999."""
    reading = read_test(HomeTest.CHAIR_STAND, 20, 70, Sex.MALE, arms_used=True)
    assert (reading.band, reading.independent) == (NormBand.BELOW, False)
    five = read_test(HomeTest.FIVE_CHAIR_STANDS, 9.0, 70, Sex.MALE, arms_used=True)
    assert (five.band, five.falls_risk) == (NormBand.BELOW, True)
    assert not read_test(HomeTest.FIVE_CHAIR_STANDS, 9.0, 70, Sex.MALE).falls_risk


@pytest.mark.parametrize("test", list(HomeTest))
def test_there_is_no_norm_under_sixty(test):
    reading = read_test(test, 20, 59, Sex.FEMALE)
    assert reading.band is NormBand.NO_NORM
    assert reading.independent is None


def test_over_ninety_four_the_last_group_counts():
    assert norm_for(HomeTest.CHAIR_STAND, 99, Sex.MALE) == norm_for(
        HomeTest.CHAIR_STAND, 90, Sex.MALE
    )
    assert norm_for(HomeTest.ONE_LEG_STAND, 70, Sex.MALE) is None


@pytest.mark.parametrize(("result", "independent"), [(14, False), (15, True), (16, True)])
def test_the_standard_for_independence(result, independent):
    """Rikli and Jones 2013, men of 70 to 74, from memory: 15."""
    assert read_test(HomeTest.CHAIR_STAND, result, 72, Sex.MALE).independent is independent


def test_a_weak_arm_is_no_falls_risk():
    assert not read_test(HomeTest.ARM_CURL, 3, 70, Sex.MALE).falls_risk


@pytest.mark.parametrize(
    ("test", "result", "start"),
    [
        (HomeTest.CHAIR_STAND, 5, (Family.SQUAT, "squat_hands_help")),
        (HomeTest.CHAIR_STAND, 14, (Family.SQUAT, "squat_to_chair")),
        (HomeTest.CHAIR_STAND, 25, (Family.SQUAT, "squat_touch_chair")),
        (HomeTest.FIVE_CHAIR_STANDS, 13, (Family.SQUAT, "squat_hands_help")),
        (HomeTest.FIVE_CHAIR_STANDS, 12, (Family.SQUAT, "squat_to_chair")),
        (HomeTest.ARM_CURL, 5, (Family.PUSH, None)),
        (HomeTest.ARM_CURL, 18, (Family.PUSH, "push_wall")),
        (HomeTest.ONE_LEG_STAND, 30, (Family.BALANCE, None)),
    ],
)
def test_a_starting_rung_is_proposed(test, result, start):
    """Our own careful proposal; the coach decides."""
    assert read_test(test, result, 72, Sex.MALE).start == start


@pytest.mark.parametrize(
    ("stands", "rung"),
    [
        (5, "squat_hands_help"),
        (12, "squat_to_chair"),
        (19, "squat_touch_chair"),
        (25, "squat_bottle"),
    ],
)
def test_under_60_the_count_of_stands_proposes_the_rung(stands, rung):
    """Common practice, from memory; the norms of Rikli and Jones 1999 begin at 60."""
    start = read_test(HomeTest.CHAIR_STAND, stands, 59, Sex.MALE).start
    assert start == (Family.SQUAT, rung)


def test_proposed_rungs_are_in_the_catalogue():
    for test in HomeTest:
        for result in (0, 12, 15, 40):
            family, rung = read_test(test, result, 72, Sex.MALE).start
            if rung is not None:
                text = (MOVEMENTS / f"{family.value}.yaml").read_text(encoding="utf-8")
                assert rung in yaml.safe_load(text)["rungs"]


def test_a_negative_result_is_a_bug():
    with pytest.raises(OutOfRangeError):
        read_test(HomeTest.CHAIR_STAND, -1, 70, Sex.MALE)
    assert read_test(HomeTest.CHAIR_STAND, 0, 70, Sex.MALE).band is NormBand.BELOW
