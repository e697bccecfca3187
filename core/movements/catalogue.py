"""The catalogue of movements: families, their rungs, and what each rung needs and stresses.

Plain values, checked when built (:mod:`core.movements.catalogue_loader`). Words are templates, not
here.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from core.client.steering import NO_ROWS, SteeringTable, Trait
from core.vocabulary import Aim, Family, Kit, Spare

DialValue = float | str
Setting = tuple[tuple[str, DialValue], ...]
"""One choice for every dial of a rung, sorted by dial name; hashable."""


@dataclass(frozen=True, slots=True)
class Tempo:
    """Seconds of one repetition: towards the end pose, there, back, and at the start pose."""

    out: float
    there: float
    back: float
    rest: float

    @property
    def total(self) -> float:
        """Seconds of one whole repetition."""
        return self.out + self.there + self.back + self.rest


@dataclass(frozen=True, slots=True)
class Amount:
    """How much for one aim: sets, and the range of repetitions (or seconds) of a set."""

    sets: int
    low: int
    high: int


@dataclass(frozen=True, slots=True, eq=False)
class Rung:
    """One variant of a movement.

    Attributes:
        id: unique in the catalogue, like ``squat_to_chair``.
        place: authored place in the family, easiest first, from 1.
        stands_in_for: the rung of its family that it takes the place of, only where that is not
            offered; "" for none.
        why_placed: why the authored and the computed order differ, where they do.
        stance: which pose function places the body (:mod:`core.mechanics.stances`).
        pose: settings of that function; a pair is (at the start, at the end).
        measure: how demand is measured (:mod:`core.movements.demand`).
        factor: authored factor on demand, with ``factor_source``; 1 where physics says it all.
        dials: allowed values of each dial, the plain one first.
        way_up: those among them that only further loads have: milder postures with what is held,
            the one first in which lighter weights are held too.
        unit: "reps" or "seconds".
        needs: kit that must be at home.
        stresses: joints and positions that it asks of; a spared one leaves the rung out.
        traits: what else it asks, which the pose does not show; rows of the table that steers
            (:mod:`core.client.steering`) leave it out by these.
        cautions: codes of sentences said beside it (``templates/en/movements/cautions.yaml``).
        each_side: whether the amount is for each side.
        effort: authored place on the scale for rungs that are not weighed (warm-up and the like).
    """

    id: str
    family: Family
    place: int
    stance: str
    pose: Mapping[str, object]
    measure: str
    dials: Mapping[str, tuple[DialValue, ...]]
    unit: str
    tempo: Tempo
    amounts: Mapping[Aim, Amount]
    needs: tuple[Kit, ...] = ()
    stresses: frozenset[Spare] = frozenset()
    traits: frozenset[Trait] = frozenset()
    cautions: tuple[str, ...] = ()
    each_side: bool = False
    factor: float = 1.0
    factor_source: str = ""
    why_placed: str = ""
    stands_in_for: str = ""
    way_up: Mapping[str, tuple[DialValue, ...]] = field(default_factory=dict)
    effort: float = 0.0


@dataclass(frozen=True, slots=True)
class FamilyRungs:
    """All rungs of one family, in the authored order, easiest first."""

    family: Family
    rungs: tuple[Rung, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Catalogue:
    """All families and their rungs. Compared and hashed by identity: it is loaded once.

    Attributes:
        steering: what facts about a client leave out, limit and prefer.
    """

    families: Mapping[Family, FamilyRungs]
    by_id: Mapping[str, Rung]
    steering: SteeringTable = NO_ROWS

    def rungs(self, family: Family) -> tuple[Rung, ...]:
        """The rungs of a family, easiest first as authored; empty where there are none."""
        found = self.families.get(family)
        return found.rungs if found else ()

    def __iter__(self) -> Iterator[Rung]:
        for family in self.families.values():
            yield from family.rungs

    def __len__(self) -> int:
        return len(self.by_id)
