"""The week as a coach has set it: families by weekday, and the shape that she starts from."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from core.vocabulary import Family

MOST_SETS = 3
"""Sets of one movement that a coach may set (two to three: Fragala 2019, Borde 2015)."""


class WeekStart(StrEnum):
    """The shape from which a week is made."""

    GENERAL = "general"
    GENTLE = "gentle"
    """Few movements, one set of each."""
    SEATED = "seated"
    """Only movements on a chair."""


@dataclass(frozen=True, slots=True)
class SetWeek:
    """What the coach has set; what she has not is worked out.

    Attributes:
        days: ISO weekday (1 Monday .. 7 Sunday) -> families in the order to do them. They pass
            every rule of the client all the same.
        sets: by weekday and family, how many sets; of those days only, and never of balance.
    """

    start: WeekStart = WeekStart.GENERAL
    days: Mapping[int, tuple[Family, ...]] = field(default_factory=dict)
    sets: Mapping[int, Mapping[Family, int]] = field(default_factory=dict)


NOTHING_SET = SetWeek()
