"""Where to begin: a first guess of capacity from ladder, age, sex, a home test, the coach's word.

A guess only, with wide uncertainty; the first sessions leave three or four in hand for that reason.
"""

import math
from collections.abc import Mapping
from typing import Final

from core.catalogue import Catalogue
from core.client import Client
from core.dose import STANDARD_MODEL, Capacity, DoseModel, starting_capacity
from core.ladder import LadderStep, ladder
from core.reps_curve import effort_of_reps
from core.vocabulary import Family, Sex

DOSED: Final[tuple[Family, ...]] = (
    Family.SQUAT,
    Family.LUNGE,
    Family.PUSH,
    Family.PULL,
    Family.SIDE_LIFT,
    Family.BRIDGE,
    Family.HINGE,
    Family.HEEL_RAISE,
    Family.STEP,
    Family.BRACE,
    Family.OVERHEAD,
)
"""Families with a capacity. Balance goes by holds without a touch instead."""

LADDER_SHARE: Final = 0.35
"""Where on the way from the easiest to the hardest step a typical client of 70 can do 15."""
TYPICAL_REPS: Final = 15.0
TYPICAL_AGE: Final = 70
LOSS_A_YEAR: Final = 0.010
"""Strength falls by about one percent a year at this age (common knowledge, from memory)."""
MALE_SHARE: Final = 0.10
"""Men of this age are stronger for their mass (from memory: more so in the arms)."""


def starting_point(
    client: Client,
    catalogue: Catalogue,
    *,
    year: int,
    word: Mapping[Family, float] | None = None,
    model: DoseModel = STANDARD_MODEL,
) -> Capacity:
    """Capacity before the first set.

    Args:
        year: the year in which the client starts, for the age.
        word: the coach's word or a home test, by family: log of how much stronger (above 0) or
            weaker than typical for age and sex.
    """
    starts = {}
    for family in DOSED:
        steps = ladder(client, family, catalogue)
        if steps:
            starts[family] = first_guess(client, steps, year) + (word or {}).get(family, 0.0)
    return starting_capacity(starts, model)


def first_guess(client: Client, steps: tuple[LadderStep, ...], year: int) -> float:
    """Log capacity to start from, by the client's own ladder, age and sex."""
    easiest, hardest = math.log(steps[0].demand), math.log(steps[-1].demand)
    typical = easiest + LADDER_SHARE * (hardest - easiest) + effort_of_reps(TYPICAL_REPS)
    age_effect = LOSS_A_YEAR * (TYPICAL_AGE - client.age_in(year))
    sex_effect = MALE_SHARE if client.sex is Sex.MALE else 0.0
    return typical + age_effect + sex_effect
