"""The body against de Leva 1996 (J Biomech 29:1223-30, table 4) and Winter 2009."""

import pytest

from core.mechanics.body import DE_LEVA, LIMB_SEGMENTS, SINGLE_SEGMENTS, Body
from core.vocabulary import Sex
from tests.published.movements.scenes import posed

BODIES = [Body(Sex.MALE, 1.741, 73.0), Body(Sex.FEMALE, 1.735, 61.9)]


@pytest.mark.parametrize("body", BODIES, ids=lambda body: body.sex.value)
def test_segment_masses_of_a_whole_body_sum_to_one(body: Body) -> None:
    whole = sum(body.shares[name] for name in SINGLE_SEGMENTS)
    whole += 2 * sum(body.shares[name] for name in LIMB_SEGMENTS)
    assert whole == pytest.approx(1.0, abs=1e-12)


@pytest.mark.parametrize(("sex", "printed"), [(Sex.MALE, 1.0), (Sex.FEMALE, 0.9999)])
def test_the_printed_table_itself_sums_to_one_but_for_rounding(sex: Sex, printed: float) -> None:
    rows = DE_LEVA[sex]
    whole = sum(rows[name].share for name in SINGLE_SEGMENTS)
    whole += 2 * sum(rows[name].share for name in LIMB_SEGMENTS)
    assert whole == pytest.approx(printed, abs=5e-5)


@pytest.mark.parametrize(
    ("body", "segment", "millimetres"),
    [
        (BODIES[0], "thigh", 422.2),
        (BODIES[0], "shank", 434.0),
        (BODIES[0], "upper_arm", 281.7),
        (BODIES[0], "trunk", 515.5),
        (BODIES[1], "thigh", 368.5),
        (BODIES[1], "forearm", 264.3),
        (BODIES[1], "trunk", 497.9),
    ],
)
def test_a_body_of_the_sample_has_the_printed_lengths(
    body: Body, segment: str, millimetres: float
) -> None:
    assert 1000 * body.lengths[segment] == pytest.approx(millimetres, abs=0.05)


@pytest.mark.parametrize("body", BODIES, ids=lambda body: body.sex.value)
def test_a_body_standing_upright_is_as_tall_as_it_says(body: Body) -> None:
    crown = posed(body, "stand", arms="beside").joint("crown")[0, 0]
    assert crown.imag == pytest.approx(body.stature, abs=0.012)


def test_joints_of_a_standing_man_are_at_winters_heights() -> None:
    """Hip .530 and shoulder .818 of stature (Winter 2009, after Drillis and Contini 1966)."""
    scene = posed(BODIES[0], "stand", arms="beside")
    for joint, height in (("hip_near", 0.530), ("shoulder_near", 0.818)):
        found = scene.joint(joint)[0, 0].imag / BODIES[0].stature
        assert found == pytest.approx(height, abs=0.012)


def test_the_centre_of_mass_of_a_standing_body_is_a_little_over_half_its_height() -> None:
    """About 56 % of stature in men and 55 % in women (Winter 2009, from memory)."""
    for body, share in ((BODIES[0], 0.56), (BODIES[1], 0.55)):
        _, where = posed(body, "stand", arms="beside").whole
        assert where[0, 0].imag / body.stature == pytest.approx(share, abs=0.02)
