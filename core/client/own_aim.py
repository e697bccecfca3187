"""What a client wants to do with more ease, and the families of movements that train it.

The families are a preference of ours (common practice: train the parts of the task itself); nobody
is offered a movement for its sake that limits, kit or a spared joint leave out.
"""

from collections.abc import Mapping
from enum import StrEnum

from core.vocabulary import Family


class OwnAim(StrEnum):
    """An aim that has a button; any other is the client's own words."""

    STAIRS = "stairs"
    FLOOR = "floor"
    SHOPPING = "shopping"
    BEACH = "beach"
    GOLF = "golf"


_FAMILIES: Mapping[OwnAim, tuple[Family, ...]] = {
    OwnAim.STAIRS: (Family.STEP, Family.SQUAT, Family.HEEL_RAISE, Family.BALANCE),
    OwnAim.FLOOR: (Family.GET_UP, Family.LUNGE, Family.SQUAT, Family.PUSH, Family.BRIDGE),
    OwnAim.SHOPPING: (Family.CARRY, Family.HINGE, Family.PULL, Family.SQUAT, Family.BRACE),
    OwnAim.BEACH: (Family.BALANCE, Family.HEEL_RAISE, Family.STEP, Family.SIDE_LIFT),
    OwnAim.GOLF: (Family.BALANCE, Family.HINGE, Family.MOBILITY, Family.PULL),
}


def families_for(told: str) -> tuple[Family, ...]:
    """The families to prefer, the nearest to the aim first; none for words of the client's own.

    Args:
        told: the value of an :class:`OwnAim`, or own words; "" where nothing was said.
    """
    return _FAMILIES[OwnAim(told)] if told in set(OwnAim) else ()
