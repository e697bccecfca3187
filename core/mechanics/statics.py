"""The table of measures of demand that a movement file may name, and how intensity adds up."""

from collections.abc import Callable

from core.mechanics import statics_legs as legs
from core.mechanics import statics_upper as upper
from core.mechanics.pose import Reals
from core.mechanics.posed import Posed

MEASURES: dict[str, Callable[[Posed], Reals]] = {
    "squat": legs.squat,
    "front_leg": legs.front_leg,
    "split_leg": legs.split_leg,
    "hip_hinge": legs.hip_hinge,
    "bridge": legs.bridge,
    "moving_leg": legs.moving_leg,
    "heel_raise": legs.heel_raise,
    "abduction": legs.abduction,
    "hands_share": upper.hands_share,
    "band_push": upper.band_push,
    "pull": upper.pull,
    "brace": upper.brace,
    "all_fours": upper.all_fours,
    "trunk_lean": upper.trunk_lean,
    "side_load": upper.side_load,
    "carry": upper.carry,
    "overhead": upper.overhead,
    "balance": upper.balance,
}

EXPONENTS = {"hands_share": 1.83, "band_push": 1.83, "pull": 1.83, "overhead": 1.83}
USUAL_EXPONENT = 1.88
"""How intensity counts over a repetition: shoulder 1.83, knee 1.88 (Frey Law and Avin 2010)."""
