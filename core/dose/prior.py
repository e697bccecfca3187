"""Where to begin: a first guess of capacity from ladder, age, sex, a home test, the coach's word.

A guess only, with wide uncertainty; the first sessions leave three or four in hand for that reason.
"""

import math
from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from enum import StrEnum
from typing import Final

from core.client.client import Client
from core.client.steering import Steering, steering_of
from core.dose.capacity import Capacity, starting_capacity
from core.dose.dose_model import STANDARD_MODEL, DoseModel
from core.dose.history import Unit
from core.dose.reps_curve import effort_of_reps, effort_of_seconds
from core.movements.catalogue import Catalogue
from core.movements.ladder import LadderStep, ladder
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
    Family.CARRY,
    Family.GET_UP,
    Family.OVERHEAD,
)
"""Families with a capacity. Balance goes by holds without a touch instead."""

LADDER_SHARE: Final = 0.5
"""Which step of the ladder, counted from the easiest, a typical woman of 70 can do 15 times.

By count and not by demand, as a ladder's ends say little: half-way lie the sit to a chair, the push
from wall or bench and the supported pull (common practice).
"""
TYPICAL_REPS: Final = 15.0
TYPICAL_SECONDS: Final = 20.0
TYPICAL_AGE: Final = 70
LOSS_A_YEAR: Final = 0.010
"""Strength falls by about one percent a year at this age (common knowledge, from memory)."""
MALE_SHARE: Final = 0.10
"""Men of this age are stronger for their mass (from memory: more so in the arms)."""


class CoachWord(StrEnum):
    """What the coach says of a client's strength before the first session."""

    LESS_FIT = "less_fit"
    USUAL = "usual"
    FITTER = "fitter"


WORD_STRENGTH: Final[Mapping[CoachWord, float]] = {
    CoachWord.LESS_FIT: -0.20,
    CoachWord.USUAL: 0.0,
    CoachWord.FITTER: 0.10,
}
"""Log of how much stronger than typical for age and sex (ours).

As with home tests, "less" lowers more than "fitter" raises, and both stay well within the spread of
a first guess.
"""


def start_word(told: CoachWord | None, tested: Mapping[Family, float]) -> dict[Family, float]:
    """The coach's word and home tests together, by family, as ``starting_point`` takes them.

    A doubt of either counts, whatever the other says; praise counts once.

    Args:
        tested: what home tests say (:func:`core.dose.home_test_word.strength_word`).
    """
    said = WORD_STRENGTH[told] if told is not None else 0.0
    found = {}
    for family in DOSED:
        measured = tested.get(family, said)
        doubted = min(said, measured) < 0.0
        found[family] = min(said, measured) if doubted else max(said, measured)
    return found


def steps_of(
    client: Client, family: Family, catalogue: Catalogue, today: date | None = None
) -> tuple[LadderStep, ...]:
    """The client's ladder of a family, easy to hard; empty where no rung may be offered."""
    return ladder(client, family, catalogue, today)


def steps_ever(
    client: Client, family: Family, catalogue: Catalogue, steering: Steering | None = None
) -> tuple[LadderStep, ...]:
    """The ladder on no day in particular; where that is empty, without limits that end or begin.

    So a family that is open on some days only has its first guess on all of them.

    Args:
        steering: of the client on no day in particular, where several families are asked for.
    """
    undated = ladder(client, family, catalogue, None, steering)
    if undated:
        return undated
    young_and_healed = replace(client, birth_year=date.max.year)
    return steps_of(young_and_healed, family, catalogue, date.max)


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
    steering = steering_of(client, catalogue.steering)
    for family in DOSED:
        steps = steps_ever(client, family, catalogue, steering)
        if steps:
            starts[family] = first_guess(client, steps, year) + (word or {}).get(family, 0.0)
    return starting_capacity(starts, model)


def first_guess(client: Client, steps: tuple[LadderStep, ...], year: int) -> float:
    """Log capacity to start from, by the client's own ladder, age and sex."""
    steps = tuple(step for step in steps if not step.further_load)
    # Getting up is learned part by part, from the first.
    share = 0.0 if steps[0].family is Family.GET_UP else LADDER_SHARE
    middle = steps[round(share * (len(steps) - 1))]
    at_typical = TYPICAL_SECONDS if middle.unit == Unit.SECONDS else TYPICAL_REPS
    effort = effort_of_seconds if middle.unit == Unit.SECONDS else effort_of_reps
    typical = math.log(middle.demand) + effort(at_typical)
    age_effect = LOSS_A_YEAR * (TYPICAL_AGE - client.age_in(year))
    sex_effect = MALE_SHARE if client.sex is Sex.MALE else 0.0
    return typical + age_effect + sex_effect
