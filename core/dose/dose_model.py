"""The constants of the belief about strength, and the words for what it holds."""

from dataclasses import dataclass
from typing import Final

GAP_DAYS: Final = 14
GAINING_DAYS: Final = 7
"""A session's gain is spread over the days until the next, this many at most."""

SECONDS_PER_LEFT: Final = 5.0
"""For a hold, one "left in hand" stands for this many seconds."""


@dataclass(frozen=True, slots=True)
class DoseModel:
    """The filter's constants, all in log demand unless named otherwise.

    Attributes:
        start_sd: uncertainty of a family's start value.
        start_correlation: correlation of start values between families.
        daily_sd: how far capacity may wander in a day; ``daily_correlation`` of it is shared.
        daily_gain: expected rise a day while the family is being trained.
        loss_after_gap: fall a day from two weeks without the family on.
        day_sd: day-to-day spread left after a check-in; ``unseen_day_sd`` without one.
        set_fatigue: loss from each earlier set of the family today.
        left_floor, telling_sd: repetitions really left where a client tells "none", and its
            spread between clients.
        stop_floor, stopping_sd: the same where she stops because she feels it is time:
            ``stop_floor + told to stop at * stretch`` are really left.
        feeling_correlation: correlation of both between clients; who tells too few left stops
            early more often than not.
        feeling_drift_sd: how far both may wander in a day, repetitions.
        left_stretch, left_practice, practice_sets: real left in hand from the told one:
            ``floor + told * (1 + stretch + practice * exp(-sets / practice_sets))``.
        left_sd, left_sd_each: spread of that, repetitions, at none left and for each one told.
        stop_noise: spread of what is left from one stop to another, repetitions.
        could_not_sd: spread of a repetition that could not be finished.
        done_sd: spread of the bound that what was done was possible.
        watched_sd: spread of what a coach sees left who stands beside.
        stops_when_short: how likely a set that ended short with none told ended by stopping as
            told, before its amount is looked at; else it could not be finished.
        stops_in_calibration: the same for a set whose end was left open, whatever was told.
        always_the_same: so many times the same number told in a row is a habit of the thumb.
        taken_back_sd: spread that comes back to strength when its numbers prove such a habit.
        surprise: readings further off than this many spreads are trusted less.
    """

    start_sd: float = 0.35
    start_correlation: float = 0.7
    daily_sd: float = 0.007
    daily_correlation: float = 0.5
    daily_gain: float = 0.0007
    loss_after_gap: float = 0.003
    day_sd: float = 0.040
    unseen_day_sd: float = 0.045
    set_fatigue: float = 0.035
    left_floor: float = 0.2
    telling_sd: float = 1.3
    stop_floor: float = 0.4
    stopping_sd: float = 1.0
    feeling_correlation: float = 0.5
    feeling_drift_sd: float = 0.02
    left_stretch: float = 0.2
    left_practice: float = 0.1
    practice_sets: float = 120.0
    left_sd: float = 0.9
    left_sd_each: float = 0.25
    stop_noise: float = 1.1
    could_not_sd: float = 0.6
    done_sd: float = 0.5
    watched_sd: float = 0.8
    stops_when_short: float = 0.75
    stops_in_calibration: float = 0.9
    always_the_same: int = 12
    taken_back_sd: float = 0.07
    surprise: float = 3.0


STANDARD_MODEL: Final = DoseModel()
