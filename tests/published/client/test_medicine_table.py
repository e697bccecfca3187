"""The medicine table against handbooks and papers, class level."""

import pytest

from core.client.medicines import (
    EFFECTS,
    DizzyRisk,
    Effect,
    PulseUse,
    highest_dizzy_risk,
    strictest_pulse_use,
)
from core.vocabulary import Medicine

M = Medicine
DOWN, SAME, UP, EITHER = Effect.LOWER, Effect.NONE, Effect.HIGHER, Effect.EITHER
HIDDEN, HIGH, CARE, SHOWN = (
    PulseUse.HIDDEN,
    PulseUse.READS_HIGH,
    PulseUse.WITH_CARE,
    PulseUse.SHOWN,
)

# Class, pulse at rest, in effort, pressure, use of a pulse target, source.
TABLE = [
    (M.BETA_BLOCKER, DOWN, DOWN, DOWN, HIDDEN, "Rogers 1988; Peel and Mossberg 1995"),
    (M.BETA_BLOCKER_EYE_DROPS, DOWN, DOWN, DOWN, HIDDEN, "timolol; class from memory"),
    (M.IVABRADINE, DOWN, DOWN, SAME, HIDDEN, "PMC3786091"),
    (M.RATE_CALCIUM_BLOCKER, DOWN, DOWN, DOWN, HIDDEN, "heart-service medicine table"),
    (M.CALCIUM_BLOCKER, EITHER, EITHER, DOWN, CARE, "heart-service medicine table"),
    (M.DIGOXIN, DOWN, SAME, SAME, HIDDEN, "Br Heart J 65:337"),
    (M.ACE_OR_ARB, SAME, SAME, DOWN, CARE, "Yamauchi 1989; van Baak 1991"),
    (M.NITRATE, UP, UP, DOWN, CARE, "heart-service medicine table"),
    (M.DIURETIC, SAME, SAME, DOWN, CARE, "cardiac rehabilitation table"),
    (M.ALPHA_BLOCKER, UP, UP, DOWN, CARE, "from memory"),
    (M.CENTRAL_PRESSURE, DOWN, DOWN, DOWN, HIDDEN, "clonidine, chronic"),
    (M.RHYTHM_MEDICINE, DOWN, DOWN, DOWN, HIDDEN, "amiodarone, sotalol"),
    (M.RELIEVER_INHALER, UP, EITHER, SAME, HIGH, "JMIR Cardio 2024 8:e56848"),
    (M.LONG_ACTING_INHALER, SAME, EITHER, SAME, SHOWN, "JMIR Cardio 2024; Salpeter 2004"),
    (M.ANTICHOLINERGIC_INHALER, SAME, SAME, SAME, SHOWN, "from memory"),
    (M.THEOPHYLLINE, UP, UP, SAME, HIGH, "from memory"),
    (M.LEVOTHYROXINE, EITHER, EITHER, EITHER, CARE, "from memory"),
    (M.DECONGESTANT, UP, UP, UP, HIGH, "Salerno 2005"),
    (M.STIMULANT, UP, UP, UP, HIGH, "from memory"),
    (M.SNRI, UP, UP, UP, HIGH, "Calvi 2021"),
    (M.TRICYCLIC, UP, UP, DOWN, HIGH, "tricyclic reviews"),
    (M.SSRI, SAME, SAME, SAME, SHOWN, "10.1016/j.jash.2018.06.002"),
    (M.INSULIN, SAME, SAME, SAME, SHOWN, "from memory"),
    (M.SULFONYLUREA, SAME, SAME, SAME, SHOWN, "from memory"),
    (M.BLOOD_THINNER, SAME, SAME, SAME, SHOWN, "from memory"),
    (M.GLINIDE, SAME, SAME, SAME, SHOWN, "from memory"),
    (M.SGLT2, SAME, SAME, DOWN, CARE, "NHS medicine page; class from memory"),
    (M.OPIOID, SAME, SAME, DOWN, CARE, "from memory"),
    (M.SEDATIVE, SAME, SAME, DOWN, CARE, "from memory"),
    (M.GABAPENTINOID, SAME, SAME, SAME, SHOWN, "from memory"),
    (M.ANTIPSYCHOTIC, UP, UP, DOWN, HIGH, "from memory"),
    (M.LEVODOPA, EITHER, EITHER, DOWN, CARE, "from memory"),
    (M.STEROID, SAME, SAME, UP, CARE, "from memory"),
    (M.BLADDER, UP, UP, DOWN, HIGH, "from memory"),
    (M.BONE, SAME, SAME, SAME, SHOWN, "from memory"),
    (M.QUINOLONE, SAME, SAME, SAME, SHOWN, "from memory"),
    (M.UNKNOWN, EITHER, EITHER, EITHER, HIDDEN, "our own rule: not known, not shown"),
]


@pytest.mark.parametrize(("medicine", "rest", "effort", "pressure", "use", "source"), TABLE)
def test_each_row(medicine, rest, effort, pressure, use, source):
    """Sources stand in the rows."""
    row = EFFECTS[medicine]
    assert (row.rest, row.effort, row.pressure, row.pulse) == (rest, effort, pressure, use), source


def test_every_class_has_a_row_here_and_there():
    """A class without a row would be a crash in a client's plan."""
    assert {row[0] for row in TABLE} == set(EFFECTS) == set(Medicine)


def test_any_class_that_lowers_the_pulse_hides_it():
    """A lowered pulse makes every printed target too hard."""
    for row in EFFECTS.values():
        if Effect.LOWER in (row.rest, row.effort):
            assert row.pulse is PulseUse.HIDDEN


def test_high_dizziness_rows():
    """Nitrates, alpha blockers (first dose) and tricyclics drop the pressure on standing.

    Falls are likelier with opioids (odds 1.60), sedatives (1.42), antiepileptics (1.55),
    antipsychotics (1.54) and medicines for Parkinson's (1.54), dizziness with bladder medicines.
    """
    high = {medicine for medicine, row in EFFECTS.items() if row.dizzy is DizzyRisk.HIGH}
    falls = {M.OPIOID, M.SEDATIVE, M.GABAPENTINOID, M.ANTIPSYCHOTIC, M.LEVODOPA, M.BLADDER}
    assert high == {M.NITRATE, M.ALPHA_BLOCKER, M.TRICYCLIC, M.UNKNOWN} | falls


def test_only_the_reliever_wears_off():
    """Back at its own pulse about 138 minutes after a puff (JMIR Cardio 2024): three hours."""
    hours = {m: row.reads_high_hours for m, row in EFFECTS.items() if row.reads_high_hours}
    assert hours == {M.RELIEVER_INHALER: 3.0}


def test_sugar_rows():
    """Insulin, sulfonylureas and glinides can lower sugar; beta blockers can hide the warning."""
    lower = {m for m, row in EFFECTS.items() if row.can_lower_sugar}
    assert lower == {M.INSULIN, M.SULFONYLUREA, M.GLINIDE}
    assert {m for m, row in EFFECTS.items() if row.hides_low_sugar} == {
        M.BETA_BLOCKER,
        M.BETA_BLOCKER_EYE_DROPS,
    }


@pytest.mark.parametrize(
    ("medicines", "use", "dizzy"),
    [
        ((), SHOWN, DizzyRisk.LOW),
        ((M.SSRI,), SHOWN, DizzyRisk.SOME),
        ((M.DIURETIC, M.SNRI), HIGH, DizzyRisk.SOME),
        ((M.DIURETIC, M.INSULIN), CARE, DizzyRisk.SOME),
        ((M.SNRI, M.BETA_BLOCKER), HIDDEN, DizzyRisk.SOME),
        ((M.NITRATE, M.INSULIN), CARE, DizzyRisk.HIGH),
    ],
)
def test_of_several_the_strictest_counts(medicines, use, dizzy):
    """Our own rule."""
    assert strictest_pulse_use(medicines) is use
    assert highest_dizzy_risk(medicines) is dizzy
