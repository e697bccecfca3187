"""What home tests say about a client's strength, as the first guess of a dose takes it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from core.client.home_tests import HomeTest, HomeTestReading, NormBand, read_test
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
        strength = STRENGTH[reading_of(done, birth_year, sex).band]
        word.update(dict.fromkeys(SAYS_SOMETHING_OF.get(done.test, ()), strength))
    return word
