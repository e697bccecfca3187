"""The parts of the body that a week must not leave out, and the families that train each."""

from collections.abc import Mapping
from enum import StrEnum
from typing import Final

from core.client.client import Client
from core.vocabulary import Family


class Group(StrEnum):
    """A major group of muscles, balance, or getting up from the floor.

    WHO 2020 asks for all major muscle groups on two days a week, and balance on three.
    """

    KNEE = "knee"
    PUSH = "push"
    PULL = "pull"
    HIP = "hip"
    CALF = "calf"
    BALANCE = "balance"
    TRUNK = "trunk"
    HIP_SIDE = "hip_side"
    CARRY = "carry"
    GET_UP = "get_up"


FAMILIES_OF: Final[Mapping[Group, tuple[Family, ...]]] = {
    Group.KNEE: (Family.SQUAT, Family.STEP, Family.LUNGE),
    Group.PUSH: (Family.PUSH, Family.OVERHEAD),
    Group.PULL: (Family.PULL,),
    Group.HIP: (Family.HINGE, Family.BRIDGE),
    Group.CALF: (Family.HEEL_RAISE,),
    Group.BALANCE: (Family.BALANCE,),
    Group.TRUNK: (Family.BRACE,),
    Group.HIP_SIDE: (Family.SIDE_LIFT,),
    Group.CARRY: (Family.CARRY,),
    Group.GET_UP: (Family.GET_UP,),
}
"""By group, in the order of a first session; the first family is the one to begin with (ours)."""

GROUP_OF: Final[Mapping[Family, Group]] = {
    family: group for group, families in FAMILIES_OF.items() for family in families
}

DOING_ORDER: Final = (
    Family.SQUAT,
    Family.STEP,
    Family.LUNGE,
    Family.PUSH,
    Family.OVERHEAD,
    Family.PULL,
    Family.HINGE,
    Family.CARRY,
    Family.SIDE_LIFT,
    Family.HEEL_RAISE,
    Family.BALANCE,
    Family.GET_UP,
    Family.BRIDGE,
    Family.BRACE,
)
"""Large muscles first; balance while fresh enough to be safe; what may be on the floor at the end,
so that nobody gets down and up between two movements (common practice)."""


def wants(client: Client, family: Family) -> bool:
    """Whether a family may have a turn at all: the floor is for those who want it."""
    return family is not Family.GET_UP or client.floor_ok


def in_order(families: frozenset[Family]) -> tuple[Family, ...]:
    """Families in the order to do them."""
    return tuple(family for family in DOING_ORDER if family in families)
