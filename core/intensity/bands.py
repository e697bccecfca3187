"""How hard: bands, maximum formulas, the pulse ceiling, and when the pulse is not to be shown.

Bands follow Garber 2011 (ACSM); near-maximal begins at the lower of the printed lines. Age formulas
miss by 7 to 12 beats, so that a ceiling always takes the lowest that applies. Talk and effort come
first for everybody; a pulse is an extra where medicines and heart allow one.
"""

import math
from dataclasses import dataclass
from enum import StrEnum

from core.client.client import Client
from core.errors import OutOfRangeError
from core.vocabulary import Medicine, Sex


class IntensityBand(StrEnum):
    """Bands of effort, easiest first."""

    VERY_LIGHT = "very_light"
    LIGHT = "light"
    MODERATE = "moderate"
    VIGOROUS = "vigorous"
    NEAR_MAX = "near_max"


# First percent of each band above very light. Near-maximal: 95 of maximum (one table) against 96,
# 85 of reserve against 90: the lower lines.
_FROM_PERCENT_OF_MAX = (57.0, 64.0, 77.0, 95.0)
_FROM_PERCENT_OF_RESERVE = (30.0, 40.0, 60.0, 85.0)


def band_of_max(percent: float) -> IntensityBand:
    """Band of a percent of the maximum heart rate."""
    return _band(percent, _FROM_PERCENT_OF_MAX)


def _band(percent: float, starts: tuple[float, ...]) -> IntensityBand:
    return tuple(IntensityBand)[sum(percent >= start for start in starts)]


SESSION_EFFORT_OF_BAND: dict[IntensityBand, tuple[float, float]] = {
    IntensityBand.VERY_LIGHT: (0, 1),
    IntensityBand.LIGHT: (2, 2),
    IntensityBand.MODERATE: (3, 4),
    IntensityBand.VIGOROUS: (5, 7),
    IntensityBand.NEAR_MAX: (8, 10),
}
"""Effort out of ten on the session scale (anchors of Foster 2001; cells partly common practice)."""


class MaxFormula(StrEnum):
    """Published estimates of the maximum heart rate."""

    FOX = "fox_1971"
    TANAKA = "tanaka_2001"
    GELLISH = "gellish_2007"
    GELLISH_UNROUNDED = "gellish_2007_unrounded"
    GULATI_WOMEN = "gulati_2010_women"
    BRAWNER_BETA_BLOCKER = "brawner_2004_beta_blocker"


_LINES: dict[MaxFormula, tuple[float, float]] = {
    MaxFormula.FOX: (220.0, 1.0),
    MaxFormula.TANAKA: (208.0, 0.7),
    MaxFormula.GELLISH: (207.0, 0.7),
    MaxFormula.GELLISH_UNROUNDED: (206.9, 0.67),
    MaxFormula.GULATI_WOMEN: (206.0, 0.88),
    MaxFormula.BRAWNER_BETA_BLOCKER: (164.0, 0.7),
}


def max_pulse(formula: MaxFormula, age: int) -> float:
    """Estimated maximum heart rate, beats a minute; adults only.

    Raises:
        OutOfRangeError: age outside 18 to 110.
    """
    if not 18 <= age <= 110:
        raise OutOfRangeError(f"age {age}")
    start, per_year = _LINES[formula]
    return start - per_year * age


def applicable_formulas(sex: Sex, medicines: frozenset[Medicine]) -> tuple[MaxFormula, ...]:
    """The formulas that may bind this person's ceiling."""
    found = [MaxFormula.FOX, MaxFormula.TANAKA]
    if sex is Sex.FEMALE:
        found.append(MaxFormula.GULATI_WOMEN)
    if Medicine.BETA_BLOCKER in medicines:
        found.append(MaxFormula.BRAWNER_BETA_BLOCKER)
    return tuple(found)


def lowest_max_pulse(age: int, sex: Sex, medicines: frozenset[Medicine] = frozenset()) -> float:
    """The lowest applicable estimate: the one a ceiling is taken from."""
    return min(max_pulse(formula, age) for formula in applicable_formulas(sex, medicines))


_RESTING_RANGE = (35.0, 110.0)


def reserve_pulse(resting: float, maximum: float, percent: float) -> float:
    """Pulse at a percent of the reserve (Karvonen 1957), beats a minute.

    Raises:
        OutOfRangeError: resting outside 35 to 110, or not under the maximum.
    """
    if not _RESTING_RANGE[0] <= resting <= _RESTING_RANGE[1]:
        raise OutOfRangeError(f"resting pulse {resting}")
    if resting >= maximum:
        raise OutOfRangeError(f"resting pulse {resting} is not under the maximum {maximum}")
    return resting + percent / 100 * (maximum - resting)


_AIM_PERCENT_OF_MAX = (50.0, 70.0)
NEW_CLIENT_CAP_PERCENT = 76.0
_NEW_CLIENT_RESERVE_PERCENT = 59.0
# Whatever a coach raises, never into the near-maximal band.
_NEVER_OVER_PERCENT = _FROM_PERCENT_OF_MAX[-1] - 1
_NEVER_OVER_RESERVE = _FROM_PERCENT_OF_RESERVE[-1] - 1
# Beats between the ends; a narrower target cannot be kept by feeling one's wrist.
_LEAST_ROOM = 5.0


@dataclass(frozen=True, slots=True)
class PulseTarget:
    """Where the pulse should be, and the ceiling; whole beats a minute, rounded down."""

    low: int
    high: int
    ceiling: int


def pulse_target(client: Client, year: int, resting: float | None = None) -> PulseTarget | None:
    """Target and ceiling; ``None`` where that leaves less than five beats of room.

    New and older clients aim at 50 to 70 percent of maximum, with a ceiling of 76 percent and under
    60 percent of reserve, until the coach raises ``pulse_cap_percent``; then up to the new ceiling.
    A resting pulse outside 35 to 110 is passed over.
    """
    maximum = lowest_max_pulse(client.age_in(year), client.sex, client.medicines)
    cap = min(client.limits.pulse_cap_percent, _NEVER_OVER_PERCENT)
    raised = client.limits.pulse_cap_percent > NEW_CLIENT_CAP_PERCENT
    limits = [cap / 100 * maximum]
    low = _AIM_PERCENT_OF_MAX[0] / 100 * maximum
    if resting is not None and _RESTING_RANGE[0] <= resting <= _RESTING_RANGE[1]:
        if resting >= maximum:
            return None
        reserve = _NEVER_OVER_RESERVE if raised else _NEW_CLIENT_RESERVE_PERCENT
        limits.append(reserve_pulse(resting, maximum, reserve))
        low = max(low, resting)
    ceiling = min(limits)
    high = ceiling if raised else min(_AIM_PERCENT_OF_MAX[1] / 100 * maximum, ceiling)
    if high - low < _LEAST_ROOM:
        return None
    return PulseTarget(math.floor(low), math.floor(high), math.floor(ceiling))
