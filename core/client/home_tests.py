"""Home tests that a coach can ask for: norms by age and sex, what to mind, and where to start.

Sources: chair stand and arm curl, middle half of each group (Rikli and Jones 1999, J Aging Phys Act
7:162-81) and independence standards (Rikli and Jones 2013, Gerontologist 53:255-67); one-leg stand,
means of three, and five-times chair stand (Bohannon 2006); both short cut-offs as there named.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from core.errors import OutOfRangeError
from core.vocabulary import Family, Sex


class HomeTest(StrEnum):
    """The tests."""

    CHAIR_STAND = "chair_stand"
    ARM_CURL = "arm_curl"
    ONE_LEG_STAND = "one_leg_stand"
    FIVE_CHAIR_STANDS = "five_chair_stands"


class RatherNot(StrEnum):
    """Why the coach should think twice before she asks; one sentence each in the templates."""

    HEART = "heart"
    JOINT = "joint"
    SPINE = "spine"
    NUMB_FEET = "numb_feet"
    NEW_PACEMAKER = "new_pacemaker"
    NO_CHAIR = "no_chair"
    NO_WEIGHT = "no_weight"
    NO_HAND_HOLD = "no_hand_hold"


class NormBand(StrEnum):
    """A result against others of the same age and sex; the words are templates."""

    BELOW = "below"
    WITHIN = "within"
    ABOVE = "above"
    NO_NORM = "no_norm"


class Mind(StrEnum):
    """What to mind in a test; one sentence each in the templates."""

    CHAIR_AGAINST_WALL = "chair_against_wall"
    STOP_IF_UNWELL = "stop_if_unwell"
    ARMS_CROSSED = "arms_crossed"
    BREATHE = "breathe"
    SOMEBODY_PRESENT = "somebody_present"
    HAND_ON_BENCH = "hand_on_bench"


CAUTIONS: Mapping[HomeTest, tuple[Mind, ...]] = {
    HomeTest.CHAIR_STAND: (
        Mind.CHAIR_AGAINST_WALL,
        Mind.ARMS_CROSSED,
        Mind.BREATHE,
        Mind.STOP_IF_UNWELL,
    ),
    HomeTest.FIVE_CHAIR_STANDS: (
        Mind.CHAIR_AGAINST_WALL,
        Mind.ARMS_CROSSED,
        Mind.BREATHE,
        Mind.STOP_IF_UNWELL,
    ),
    HomeTest.ARM_CURL: (Mind.CHAIR_AGAINST_WALL, Mind.BREATHE, Mind.STOP_IF_UNWELL),
    HomeTest.ONE_LEG_STAND: (Mind.SOMEBODY_PRESENT, Mind.HAND_ON_BENCH, Mind.STOP_IF_UNWELL),
}

CURL_KG: Mapping[Sex, float] = {Sex.FEMALE: 2.3, Sex.MALE: 3.6}
CHAIR_CM = 43.0
ONE_LEG_RISK_UNDER_SECONDS = 5.0
FIVE_STANDS_FALLS_OVER_SECONDS = 15.0


@dataclass(frozen=True, slots=True)
class Norm:
    """Middle half of a group, and what goes with staying independent."""

    low: int
    high: int
    independent: int


_FIRST_AGES = (60, 65, 70, 75, 80, 85, 90)
_F, _M = Sex.FEMALE, Sex.MALE


def _norms(*rows: tuple[int, int, int]) -> tuple[Norm, ...]:
    return tuple(Norm(*row) for row in rows)


# One row for each age group of _FIRST_AGES: low, high, independent.
_REPS: Mapping[tuple[HomeTest, Sex], tuple[Norm, ...]] = {
    (HomeTest.CHAIR_STAND, _M): _norms(
        (14, 19, 17),
        (12, 18, 16),
        (12, 17, 15),
        (11, 17, 14),
        (10, 15, 13),
        (8, 14, 11),
        (7, 12, 9),
    ),
    (HomeTest.CHAIR_STAND, _F): _norms(
        (12, 17, 15), (11, 16, 15), (10, 15, 14), (10, 15, 13), (9, 14, 12), (8, 13, 11), (4, 11, 9)
    ),
    (HomeTest.ARM_CURL, _M): _norms(
        (16, 22, 19),
        (15, 21, 18),
        (14, 21, 17),
        (13, 19, 16),
        (13, 19, 15),
        (11, 17, 13),
        (10, 14, 11),
    ),
    (HomeTest.ARM_CURL, _F): _norms(
        (13, 19, 17),
        (12, 18, 17),
        (12, 17, 16),
        (11, 17, 15),
        (10, 16, 14),
        (10, 15, 13),
        (8, 13, 11),
    ),
}
# Bohannon 2006: mean seconds on one leg; seconds for five chair stands that are worse than average.
_ONE_LEG_MEAN = {60: 27.0, 70: 17.2, 80: 8.5}
_FIVE_STANDS_WORSE_OVER = {60: 11.4, 70: 12.6, 80: 14.8}


@dataclass(frozen=True, slots=True)
class HomeTestReading:
    """A result in words' codes.

    Attributes:
        independent: at or over the standard for staying independent; ``None`` without one.
        falls_risk: at or past a published cut-off for falls: the coach is told.
        start: family and rung to start at, as a proposal; ``None`` rung: the easiest there is.
    """

    test: HomeTest
    band: NormBand
    independent: bool | None
    falls_risk: bool
    start: tuple[Family, str | None]


def norm_for(test: HomeTest, age: int, sex: Sex) -> Norm | None:
    """Norm of a test that counts repetitions; ``None`` under 60. Over 94 the last group counts."""
    rows = _REPS.get((test, sex))
    if rows is None or age < _FIRST_AGES[0]:
        return None
    return rows[sum(age >= first for first in _FIRST_AGES) - 1]


@dataclass(frozen=True, slots=True)
class NormRange:
    """What others of the same age and sex do.

    Attributes:
        low, high: repetitions of the middle half; or, with ``high`` alone, the seconds over which
            five chair stands are slow; or, with ``low`` alone, the mean seconds on one leg.
    """

    low: float | None
    high: float | None


def norm_range_of(test: HomeTest, age: int, sex: Sex) -> NormRange | None:
    """What to hold a result against; ``None`` under 60."""
    if test is HomeTest.ONE_LEG_STAND:
        mean = _by_decade(_ONE_LEG_MEAN, age)
        return None if mean is None else NormRange(mean, None)
    if test is HomeTest.FIVE_CHAIR_STANDS:
        slow = _by_decade(_FIVE_STANDS_WORSE_OVER, age)
        return None if slow is None else NormRange(None, slow)
    norm = norm_for(test, age, sex)
    return None if norm is None else NormRange(norm.low, norm.high)


def read_test(
    test: HomeTest, result: float, age: int, sex: Sex, *, arms_used: bool = False
) -> HomeTestReading:
    """Read a result: repetitions in 30 seconds, or seconds.

    Args:
        arms_used: pushed up with the arms in a chair test, which counts as nothing done.

    Raises:
        OutOfRangeError: a negative result.
    """
    if result < 0:
        raise OutOfRangeError(f"result {result}")
    if test is HomeTest.ONE_LEG_STAND:
        return _read_one_leg(result, age)
    if test is HomeTest.FIVE_CHAIR_STANDS:
        return _read_five_stands(result, age, arms_used)
    counted = 0.0 if arms_used and test is HomeTest.CHAIR_STAND else result
    norm = norm_for(test, age, sex)
    band = _band_of(counted, norm)
    return HomeTestReading(
        test=test,
        band=band,
        independent=None if norm is None else counted >= norm.independent,
        # Below the middle half is the published falls line of the chair stand (STEADI).
        falls_risk=test is HomeTest.CHAIR_STAND and band is NormBand.BELOW,
        start=_start_without_norm(test, counted) if norm is None else _START[test][band],
    )


def _start_without_norm(test: HomeTest, counted: float) -> tuple[Family, str | None]:
    """Under 60 the count alone says where to begin (common practice, from memory)."""
    if test is not HomeTest.CHAIR_STAND:
        return _START[test][NormBand.NO_NORM]
    return Family.SQUAT, next(rung for least, rung in _STANDS_START if counted >= least)


def _band_of(result: float, norm: Norm | None) -> NormBand:
    if norm is None:
        return NormBand.NO_NORM
    if result < norm.low:
        return NormBand.BELOW
    return NormBand.ABOVE if result > norm.high else NormBand.WITHIN


def _by_decade(table: Mapping[int, float], age: int) -> float | None:
    return next((table[first] for first in sorted(table, reverse=True) if age >= first), None)


def _read_one_leg(seconds: float, age: int) -> HomeTestReading:
    mean = _by_decade(_ONE_LEG_MEAN, age)
    band = NormBand.NO_NORM
    if mean is not None:
        band = NormBand.WITHIN if seconds >= mean else NormBand.BELOW
    return HomeTestReading(
        test=HomeTest.ONE_LEG_STAND,
        band=band,
        independent=None,
        falls_risk=seconds < ONE_LEG_RISK_UNDER_SECONDS,
        start=(Family.BALANCE, None),
    )


def _read_five_stands(seconds: float, age: int, arms_used: bool) -> HomeTestReading:
    worse_over = _by_decade(_FIVE_STANDS_WORSE_OVER, age)
    band = NormBand.NO_NORM
    if worse_over is not None:
        slow = arms_used or seconds > worse_over
        band = NormBand.BELOW if slow else NormBand.WITHIN
    return HomeTestReading(
        test=HomeTest.FIVE_CHAIR_STANDS,
        band=band,
        independent=None,
        falls_risk=arms_used or seconds > FIVE_STANDS_FALLS_OVER_SECONDS,
        start=_START[HomeTest.CHAIR_STAND][band],
    )


# Cautious on purpose: a strong result starts one step below what it would allow.
_START: Mapping[HomeTest, Mapping[NormBand, tuple[Family, str | None]]] = {
    HomeTest.CHAIR_STAND: {
        NormBand.BELOW: (Family.SQUAT, "squat_hands_help"),
        NormBand.NO_NORM: (Family.SQUAT, "squat_hands_help"),
        NormBand.WITHIN: (Family.SQUAT, "squat_to_chair"),
        NormBand.ABOVE: (Family.SQUAT, "squat_touch_chair"),
    },
    HomeTest.ARM_CURL: {
        NormBand.BELOW: (Family.PUSH, None),
        NormBand.NO_NORM: (Family.PUSH, None),
        NormBand.WITHIN: (Family.PUSH, "push_wall"),
        NormBand.ABOVE: (Family.PUSH, "push_wall"),
    },
}

_STANDS_START: Sequence[tuple[int, str]] = (
    (23, "squat_bottle"),
    (17, "squat_touch_chair"),
    (8, "squat_to_chair"),
    (0, "squat_hands_help"),
)
"""From so many stands in 30 seconds -> rung, hardest first."""
