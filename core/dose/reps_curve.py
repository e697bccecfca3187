"""How many repetitions a demand allows: the curve between load and repetitions to failure.

Dose works with ``effort_of_reps``: the log of how far a demand lies under the demand that could be
met once. It is smooth and bounded in slope from 8 to 25 repetitions, where this client group
trains; the usual one-repetition equations are not (Brzycki has a pole at 37).
"""

import math

REPS_RATE = 0.030
"""k of ln(1 + k R): Epley's 1/30, slightly lower as in practice more are managed (Nuzzo 2024)."""

HOLD_EXPONENT = 0.5
"""Endurance time falls with about the square of intensity (Frey Law and Avin 2010)."""

HOLD_REFERENCE_SECONDS = 10.0
"""A hold's capacity is the demand that could be held this long."""


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
