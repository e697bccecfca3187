"""The preparticipation table of ACSM (Riebe 2015, Med Sci Sports Exerc 47:2473-9), exhaustively."""

import itertools

import pytest

from core.client.screening import (
    ACTIVE_DAYS,
    ACTIVE_MINUTES,
    ACTIVE_MONTHS,
    TABLE_CONDITIONS,
    Decision,
    IntensityWish,
    ScreeningSign,
    table_decision,
)
from core.vocabulary import Condition

EASY, HARD = IntensityWish.LIGHT_OR_MODERATE, IntensityWish.VIGOROUS
# (active, known disease, signs, wish) -> decision without a recent clearance.
TABLE = {
    (False, False, False, EASY): Decision.START,
    (False, False, False, HARD): Decision.START,
    (False, True, False, EASY): Decision.CLEARANCE_FIRST,
    (False, True, False, HARD): Decision.CLEARANCE_FIRST,
    (False, False, True, EASY): Decision.CLEARANCE_FIRST,
    (False, False, True, HARD): Decision.CLEARANCE_FIRST,
    (False, True, True, EASY): Decision.CLEARANCE_FIRST,
    (False, True, True, HARD): Decision.CLEARANCE_FIRST,
    (True, False, False, EASY): Decision.CONTINUE,
    (True, False, False, HARD): Decision.CONTINUE,
    (True, True, False, EASY): Decision.CONTINUE_MODERATE,
    (True, True, False, HARD): Decision.CLEARANCE_FOR_VIGOROUS,
    (True, False, True, EASY): Decision.STOP_UNTIL_CLEARED,
    (True, False, True, HARD): Decision.STOP_UNTIL_CLEARED,
    (True, True, True, EASY): Decision.STOP_UNTIL_CLEARED,
    (True, True, True, HARD): Decision.STOP_UNTIL_CLEARED,
}


def test_the_table_below_names_every_combination():
    """Two answers each to three questions, and two wishes."""
    flags = (False, True)
    assert set(TABLE) == set(itertools.product(flags, flags, flags, IntensityWish))


@pytest.mark.parametrize(("row", "decision"), TABLE.items())
def test_every_row_of_the_table(row, decision):
    """Riebe 2015, all rows, no clearance in the last 12 months."""
    active, disease, signs, wish = row
    assert table_decision(active=active, disease=disease, signs=signs, wish=wish) is decision


@pytest.mark.parametrize(("row", "decision"), TABLE.items())
def test_a_recent_clearance_opens_only_hard_work_for_the_active_without_signs(row, decision):
    """Riebe 2015: clearance in the last 12 months, if no change in signs or symptoms."""
    active, disease, signs, wish = row
    expected = Decision.CONTINUE if decision is Decision.CLEARANCE_FOR_VIGOROUS else decision
    found = table_decision(
        active=active, disease=disease, signs=signs, wish=wish, cleared_recently=True
    )
    assert found is expected


def test_there_are_nine_signs():
    """ACSM guidelines, table of major signs or symptoms."""
    assert len(ScreeningSign) == 9


def test_active_means_half_an_hour_three_days_a_week_for_three_months():
    """Riebe 2015, at least moderate and planned."""
    assert (ACTIVE_MINUTES, ACTIVE_DAYS, ACTIVE_MONTHS) == (30, 3, 3)


def test_lung_disease_and_high_pressure_are_no_disease_of_the_table():
    """Riebe 2015 dropped pulmonary disease; hypertension alone is a risk factor."""
    assert not TABLE_CONDITIONS & {Condition.LUNG, Condition.ASTHMA, Condition.PRESSURE}


def test_the_table_counts_heart_vessels_brain_sugar_and_kidney():
    """Riebe 2015: cardiac, peripheral vascular, cerebrovascular, metabolic, renal."""
    expected = {
        Condition.HEART,
        Condition.HEART_FAILURE,
        Condition.ANGINA,
        Condition.RHYTHM,
        Condition.PACEMAKER,
        Condition.HEART_TRANSPLANT,
        Condition.STROKE,
        Condition.DIABETES,
        Condition.KIDNEY,
        Condition.VALVE,
        Condition.ANEURYSM,
        Condition.LEG_ARTERIES,
        Condition.DEFIBRILLATOR,
    }
    assert expected == TABLE_CONDITIONS
