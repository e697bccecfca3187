"""How many repetitions a demand allows: the curve between load and repetitions to failure.

Dose works with ``effort_of_reps``: the log of how far a demand lies under the demand that could be
met once. It is smooth and bounded in slope from 8 to 25 repetitions, where this client group
trains; the usual one-repetition equations are not (Brzycki has a pole at 37). Those equations are
here for the coach's view, each only within the range it was made for.
"""

import math

from core.errors import OutOfRangeError

REPS_RATE = 0.030
"""k of ln(1 + k R): Epley's 1/30, slightly lower as in practice more are managed (Nuzzo 2024)."""

HOLD_EXPONENT = 0.5
"""Endurance time falls with about the square of intensity (Frey Law and Avin 2010)."""

HOLD_REFERENCE_SECONDS = 10.0
"""A hold's capacity is the demand that could be held this long."""

EPLEY_MOST_REPS = 10
KEMMLER_FEWEST_REPS = 3
KEMMLER_MOST_REPS = 20


def effort_of_reps(reps: float, rate: float = REPS_RATE) -> float:
    """Log of (capacity / demand) at which ``reps`` repetitions are the most possible."""
    return math.log1p(rate * max(reps, 0.0))


def reps_of_effort(effort: float, rate: float = REPS_RATE) -> float:
    """Most repetitions at a log (capacity / demand); negative when even one is too many."""
    return math.expm1(effort) / rate


def slope_of_reps(reps: float, rate: float = REPS_RATE) -> float:
    """Change of log capacity per repetition, at ``reps``."""
    return rate / (1.0 + rate * max(reps, 0.0))


def effort_of_seconds(seconds: float) -> float:
    """Log of (capacity / demand) at which a hold of ``seconds`` is the longest possible."""
    return HOLD_EXPONENT * math.log(max(seconds, 1.0) / HOLD_REFERENCE_SECONDS)


def seconds_of_effort(effort: float) -> float:
    """Longest hold, in seconds, at a log (capacity / demand)."""
    return HOLD_REFERENCE_SECONDS * math.exp(effort / HOLD_EXPONENT)


def slope_of_seconds(seconds: float) -> float:
    """Change of log capacity per second of a hold, at ``seconds``."""
    return HOLD_EXPONENT / max(seconds, 1.0)


def epley_factor(reps: int) -> float:
    """One-repetition load over the load lifted ``reps`` times (Epley), up to 10 repetitions.

    Raises:
        OutOfRangeError: outside 1 to 10, where the straight line no longer holds (Reynolds 2006).
    """
    if not 1 <= reps <= EPLEY_MOST_REPS:
        raise OutOfRangeError(f"Epley holds for 1 to {EPLEY_MOST_REPS} repetitions, not {reps}")
    return 1.0 + reps / 30.0


def kemmler_factor(reps: int) -> float:
    """One-repetition load over the load lifted ``reps`` times (Kemmler 2006), 3 to 20 repetitions.

    Made with trained women after the menopause, mean age 57; rough for anybody else.

    Raises:
        OutOfRangeError: outside 3 to 20 repetitions.
    """
    if not KEMMLER_FEWEST_REPS <= reps <= KEMMLER_MOST_REPS:
        raise OutOfRangeError(
            f"Kemmler holds for {KEMMLER_FEWEST_REPS} to {KEMMLER_MOST_REPS} repetitions, "
            f"not {reps}"
        )
    return 0.988 + 0.0104 * reps + 0.0019 * reps**2 - 0.0000584 * reps**3
