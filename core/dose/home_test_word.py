"""What home tests say about a client's strength, as the first guess of a dose takes it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from core.client.home_tests import HomeTest, HomeTestReading, NormBand, read_test
from core.dose.prior import LOSS_A_YEAR, TYPICAL_AGE
from core.vocabulary import Family, Sex


@dataclass(frozen=True, slots=True)
class HomeTestDone:
    """A test as it was done.

    Attributes:
        result: repetitions in 30 seconds, or seconds (on one leg the mean of the tries).
        arms_used: pushed up with the arms in a chair test.
    """

    test: HomeTest
    on: date
    result: float
    arms_used: bool = False


STRENGTH: Mapping[NormBand, float] = {
    NormBand.BELOW: -0.20,
    NormBand.WITHIN: 0.0,
    NormBand.ABOVE: 0.10,
    NormBand.NO_NORM: 0.0,
}
"""Log of how much stronger than typical (ours).

A weak result lowers more than a strong one raises, and both stay well within the spread of a first
guess (0.35), which the first sessions narrow.
"""

STANDS_STRENGTH: tuple[tuple[int, float], ...] = (
    (23, 0.32),
    (17, 0.22),
    (12, 0.0),
    (8, -0.10),
    (1, -0.20),
    (0, -0.30),
)
"""From so many stands in 30 seconds -> log of how much stronger than a typical woman of 70.

Set so that the first sets of eight to ten begin at the rung that common practice has for the count:
hands on thighs, to the chair, touch the chair, with a bottle (from memory).
"""

MOST_SAID = 0.30
"""No count moves a first guess further, up or down."""

SAYS_SOMETHING_OF: Mapping[HomeTest, tuple[Family, ...]] = {
    HomeTest.CHAIR_STAND: (Family.SQUAT, Family.LUNGE, Family.STEP, Family.BRIDGE),
    HomeTest.FIVE_CHAIR_STANDS: (Family.SQUAT, Family.LUNGE, Family.STEP, Family.BRIDGE),
    HomeTest.ARM_CURL: (Family.PUSH, Family.PULL, Family.OVERHEAD),
}
"""Families by test; balance has no capacity, so that the one-leg stand is for the coach alone."""


def reading_of(done: HomeTestDone, birth_year: int, sex: Sex) -> HomeTestReading:
    """The result against others of the client's age on the day of the test."""
    age = done.on.year - birth_year
    return read_test(done.test, done.result, age, sex, arms_used=done.arms_used)


def strength_word(tests: Sequence[HomeTestDone], birth_year: int, sex: Sex) -> dict[Family, float]:
    """Log of how much stronger (above 0) or weaker than typical, by family.

    Of tests that speak of one family the newest counts. In the form that
    :func:`core.dose.prior.starting_point` takes as ``word``.
    """
    word: dict[Family, float] = {}
    for done in sorted(tests, key=lambda one: one.on):
        strength = _strength_of(done, birth_year, sex)
        word.update(dict.fromkeys(SAYS_SOMETHING_OF.get(done.test, ()), strength))
    return word


def _strength_of(done: HomeTestDone, birth_year: int, sex: Sex) -> float:
    """By the norm; where there is none, or the result is above it, by the count of stands too."""
    band = reading_of(done, birth_year, sex).band
    if done.test is not HomeTest.CHAIR_STAND or band in (NormBand.BELOW, NormBand.WITHIN):
        return STRENGTH[band]
    counted = 0.0 if done.arms_used else done.result
    stands = next(strength for least, strength in STANDS_STRENGTH if counted >= least)
    # The first guess has the age in it already, the count has it too.
    said = stands - LOSS_A_YEAR * (TYPICAL_AGE - (done.on.year - birth_year))
    said = max(-MOST_SAID, min(said, MOST_SAID))
    return max(STRENGTH[band], said) if band is NormBand.ABOVE else said
