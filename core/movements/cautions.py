"""Which of the cautions that a client is told belong beside a movement.

All are said at the start of a session; beside a movement only where it gives a reason to.
"""

from collections.abc import Callable, Iterable, Mapping

from core.client.steering import Trait
from core.movements.catalogue import Rung
from core.movements.demand import UNWEIGHED
from core.vocabulary import Family, Kit, Spare

SEATED_OR_LYING = frozenset({"sit", "front_sit", "supine", "side_lying", "all_fours"})
"""Pose functions in which nobody stands."""

UNSTEADY = frozenset({Trait.UNHELD, Trait.NARROW, Trait.ONE_LEG})


def _stands(rung: Rung) -> bool:
    return rung.stance not in SEATED_OR_LYING and "pivot" not in rung.pose


def _may_sway(rung: Rung) -> bool:
    balances = rung.family in (Family.BALANCE, Family.STEP)
    return _stands(rung) and (balances or bool(rung.traits & UNSTEADY))


def _ends_low(rung: Rung) -> bool:
    return Spare.FLOOR in rung.stresses or "seat" in rung.pose or not _stands(rung)


def _is_work(rung: Rung) -> bool:
    return rung.family not in UNWEIGHED and rung.family is not Family.BALANCE


def _sits(rung: Rung) -> bool:
    return Kit.CHAIR in rung.needs and (not _stands(rung) or "seat" in rung.pose)


BESIDE: Mapping[str, Callable[[Rung], bool]] = {
    "aid_in_reach": _stands,
    "alone_corner": _may_sway,
    "person_near": _may_sway,
    "seat_carries": _sits,
    "slow_stand": _ends_low,
    "talk_aloud": _is_work,
}
"""By caution, the movements beside which it is said; one that is missing is said at the start."""


def beside(rung: Rung, cautions: Iterable[str]) -> tuple[str, ...]:
    """The client's cautions that this movement gives a reason to say."""
    return tuple(code for code in cautions if code in BESIDE and BESIDE[code](rung))
