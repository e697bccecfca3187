"""One client's ladder: the rungs and dial settings that this body can do with this kit.

Easy to hard by demand, neighbours at most 12 % apart where kit and dials allow.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from core.catalogue import DialValue, Setting
from core.vocabulary import Family, Kit, Spare

LARGEST_STEP = 1.12
"""Ratio of demand to the next step above which there is a hole."""


@dataclass(frozen=True, slots=True)
class LadderStep:
    """One place on a client's ladder.

    Attributes:
        rung: id of the rung, unique in the catalogue.
        setting: the dials that are not at their plain value, sorted by name; hashable.
        demand: one number over the repetition, > 0, comparable within the family only.
        unit: "reps" or "seconds".
        needs: kit it needs.
        hole_above: ratio of the next step's demand where that is over ``LARGEST_STEP``.
    """

    family: Family
    rung: str
    setting: Setting
    demand: float
    unit: str
    needs: tuple[Kit, ...]
    stresses: frozenset[Spare]
    hole_above: float | None = None

    @property
    def dial(self) -> Mapping[str, DialValue]:
        """Dial settings by name, in name order."""
        return dict(self.setting)

    @property
    def key(self) -> str:
        """The stable text that is stored: "rung" or "rung@dial=value,dial=value"."""
        return key_of(self.rung, self.setting)


def key_of(rung: str, setting: Setting) -> str:
    """The stable text of a rung with its dial settings."""
    if not setting:
        return rung
    return rung + "@" + ",".join(f"{name}={_shown(value)}" for name, value in setting)


def _shown(value: DialValue) -> str:
    return value if isinstance(value, str) else f"{value:g}"
