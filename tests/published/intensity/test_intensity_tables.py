"""Intensity against its literature: bands, maximum formulas, reserve."""

import pytest

from core.errors import OutOfRangeError
from core.intensity.bands import (
    SESSION_EFFORT_OF_BAND,
    IntensityBand,
    MaxFormula,
    applicable_formulas,
    band_of_max,
    lowest_max_pulse,
    max_pulse,
    reserve_pulse,
)
from core.readiness.scales import SESSION_EFFORT
from core.vocabulary import Medicine, Sex

VERY_LIGHT, LIGHT, MODERATE, VIGOROUS, NEAR_MAX = IntensityBand


@pytest.mark.parametrize(
    ("percent", "band"),
    [
        (0, VERY_LIGHT),
        (56, VERY_LIGHT),
        (57, LIGHT),
        (63, LIGHT),
        (64, MODERATE),
        (76, MODERATE),
        (77, VIGOROUS),
        (94, VIGOROUS),
        (95, NEAR_MAX),
        (96, NEAR_MAX),
        (100, NEAR_MAX),
    ],
)
def test_percent_of_maximum_falls_in_its_band(percent, band):
    """Garber 2011, Med Sci Sports Exerc 43:1334-59, Table 1; near-maximal from 95 (lower line)."""
    assert band_of_max(percent) is band


def test_efforts_of_bands_follow_the_session_scale_upward_without_overlap():
    """Anchors 3 moderate, 5 hard, 7 very hard, 10 maximal: Foster 2001; other cells from memory."""
    ranges = [SESSION_EFFORT_OF_BAND[band] for band in IntensityBand]
    assert ranges == [(0, 1), (2, 2), (3, 4), (5, 7), (8, 10)]
    assert all(SESSION_EFFORT.holds(end) for pair in ranges for end in pair)


# Fox 1971 (220 - age); Tanaka 2001; Gellish 2007, unrounded and rounded; Gulati 2010 (women);
# Brawner 2004 (coronary disease on a beta blocker). Values computed from the printed formulas.
MAXIMA = [
    (40, 180, 180.0, 180.10, 179.0, 170.8, 136.0),
    (50, 170, 173.0, 173.40, 172.0, 162.0, 129.0),
    (60, 160, 166.0, 166.70, 165.0, 153.2, 122.0),
    (65, 155, 162.5, 163.35, 161.5, 148.8, 118.5),
    (70, 150, 159.0, 160.00, 158.0, 144.4, 115.0),
    (75, 145, 155.5, 156.65, 154.5, 140.0, 111.5),
    (80, 140, 152.0, 153.30, 151.0, 135.6, 108.0),
    (85, 135, 148.5, 149.95, 147.5, 131.2, 104.5),
]
COLUMNS = [
    MaxFormula.FOX,
    MaxFormula.TANAKA,
    MaxFormula.GELLISH_UNROUNDED,
    MaxFormula.GELLISH,
    MaxFormula.GULATI_WOMEN,
    MaxFormula.BRAWNER_BETA_BLOCKER,
]


@pytest.mark.parametrize(
    ("age", "formula", "expected"),
    [
        (age, formula, value)
        for age, *row in MAXIMA
        for formula, value in zip(COLUMNS, row, strict=True)
    ],
)
def test_maximum_heart_rate_formulas(age, formula, expected):
    """Each paper named beside the table above, to 3 decimals."""
    assert max_pulse(formula, age) == pytest.approx(expected, abs=5e-4)


@pytest.mark.parametrize(
    ("resting", "maximum", "percent", "expected"),
    [
        (72, 159, 30, 98.1),
        (72, 159, 40, 106.8),
        (72, 159, 50, 115.5),
        (72, 159, 59, 123.33),
        (72, 159, 60, 124.2),
        (72, 159, 89, 149.43),
        (58, 115, 30, 75.1),
        (58, 115, 40, 80.8),
        (58, 115, 59, 91.63),
        (58, 115, 60, 92.2),
    ],
)
def test_pulse_at_a_percent_of_reserve(resting, maximum, percent, expected):
    """Karvonen 1957, computed: rest + share x (maximum - rest)."""
    assert reserve_pulse(resting, maximum, percent) == pytest.approx(expected, abs=5e-4)


@pytest.mark.parametrize(
    ("resting", "maximum"), [(34, 150), (111, 150), (80, 80), (90, 85), (110.5, 160)]
)
def test_reserve_refuses_a_resting_pulse_that_cannot_be(resting, maximum):
    """Guard: resting 35 to 110 and under the maximum (our own rule)."""
    with pytest.raises(OutOfRangeError):
        reserve_pulse(resting, maximum, 50)


@pytest.mark.parametrize(("resting", "maximum"), [(35, 150), (110, 150), (110, 110.5)])
def test_reserve_takes_the_ends_of_its_range(resting, maximum):
    """The range includes 35 and 110."""
    assert reserve_pulse(resting, maximum, 0) == resting


@pytest.mark.parametrize(
    ("age", "sex", "medicines", "expected"),
    [
        (70, Sex.MALE, frozenset(), 150.0),
        (70, Sex.FEMALE, frozenset(), 144.4),
        (40, Sex.MALE, frozenset(), 180.0),
        (30, Sex.MALE, frozenset(), 187.0),
        (70, Sex.MALE, frozenset({Medicine.BETA_BLOCKER}), 115.0),
        (70, Sex.FEMALE, frozenset({Medicine.BETA_BLOCKER}), 115.0),
        (70, Sex.MALE, frozenset({Medicine.BETA_BLOCKER_EYE_DROPS}), 150.0),
    ],
)
def test_the_ceiling_takes_the_lowest_formula_that_applies(age, sex, medicines, expected):
    """Men: lower of Fox 1971 and Tanaka 2001; women also Gulati 2010; beta blocker Brawner 2004."""
    assert lowest_max_pulse(age, sex, medicines) == pytest.approx(expected)


def test_formulas_that_apply_are_named():
    """Gulati 2010 was measured in women, Brawner 2004 in people on a beta blocker."""
    assert applicable_formulas(Sex.MALE, frozenset()) == (MaxFormula.FOX, MaxFormula.TANAKA)
    assert MaxFormula.GULATI_WOMEN in applicable_formulas(Sex.FEMALE, frozenset())
    assert MaxFormula.GULATI_WOMEN not in applicable_formulas(Sex.MALE, frozenset())


@pytest.mark.parametrize("age", [17, 111, -1])
def test_formulas_are_for_adults(age):
    """No formula here was measured in children."""
    with pytest.raises(OutOfRangeError):
        max_pulse(MaxFormula.FOX, age)


@pytest.mark.parametrize("age", [18, 110])
def test_formulas_take_the_ends_of_their_range(age):
    """Fox 1971."""
    assert max_pulse(MaxFormula.FOX, age) == 220 - age
