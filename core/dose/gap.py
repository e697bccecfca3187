"""What a gap in training is likely to have cost, by its days and its cause.

Strength that was shown keeps for some weeks of rest in good health (from memory: older adults lose
little in two to four weeks without training; what the belief takes off after two weeks covers it).
Lying ill costs about one percent a day or more (from memory: ten days in bed took 13 to 16 % of leg
strength of healthy older people, Kortebein 2007 and 2008). Where nobody knows what there was,
something in between is taken (caution). The numbers are ours; none makes a dose harder.
"""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum
from typing import Final

LOSS_A_DAY_ILL: Final = 0.01
MOST_LOST_ILL: Final = 0.15
LOSS_A_DAY_UNKNOWN: Final = 0.005
MOST_LOST_UNKNOWN: Final = 0.10
UNSEEN_DAYS: Final = 7
"""Days without a word up to which nothing is made of them."""
SECOND_SESSION_WITHIN: Final = 7
SECOND_SHARE: Final = 0.5
"""Of the loss, in the second session after the gap."""


class GapCause(StrEnum):
    """Why there was no training."""

    WELL = "well"
    ILL = "ill"
    UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True)
class GapLoss:
    """Log capacity to take off today, and why."""

    lost: float = 0.0
    cause: GapCause = GapCause.WELL


NO_LOSS: Final = GapLoss()


def gap_loss(
    trained: Sequence[date],
    on: date,
    *,
    ill_on: Collection[date],
    well_on: Collection[date],
) -> GapLoss:
    """What the gap before a day cost; in the second session after it half of that.

    Args:
        trained: days of training before ``on``, oldest first.
        ill_on: days on which the client told of an illness.
        well_on: days that are known to have been well: a check-in without illness, or a holiday.
    """
    if not trained:
        return NO_LOSS
    found = _between(trained[-1], on, ill_on, well_on)
    near = (on - trained[-1]).days <= SECOND_SESSION_WITHIN
    if found.lost or len(trained) < 2 or not near:
        return found
    before = _between(trained[-2], trained[-1], ill_on, well_on)
    return GapLoss(before.lost * SECOND_SHARE, before.cause) if before.lost else NO_LOSS


def _between(
    last: date, back: date, ill_on: Collection[date], well_on: Collection[date]
) -> GapLoss:
    """The loss of the days after ``last`` up to ``back``."""
    days = [last + timedelta(days=n) for n in range(1, (back - last).days + 1)]
    ill = [day for day in days if day in ill_on]
    if ill:
        # From the first ill day to the last, as not every morning is answered.
        span = (ill[-1] - ill[0]).days + 1
        return GapLoss(min(MOST_LOST_ILL, LOSS_A_DAY_ILL * span), GapCause.ILL)
    unseen = sum(day not in well_on for day in days[:-1])
    if unseen <= UNSEEN_DAYS:
        return NO_LOSS
    lost = LOSS_A_DAY_UNKNOWN * (unseen - UNSEEN_DAYS)
    return GapLoss(min(MOST_LOST_UNKNOWN, lost), GapCause.UNKNOWN)
