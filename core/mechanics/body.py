"""A client's body as rigid segments: lengths, masses and centres of mass.

Masses, centres of mass and limb lengths: de Leva 1996 (J Biomech 29:1223-30, table 4), by sex,
scaled to stature. What it lacks (ankle height, foot, breadths): Winter 2009 after Drillis and
Contini 1966, as fractions of stature. The sample was young; older people carry more in the trunk.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property, lru_cache
from types import MappingProxyType

from core.client.client import Client
from core.errors import OutOfRangeError
from core.vocabulary import Sex

GRAVITY = 9.81  # m/s2

# Stature in metres that the sitting and standing geometry has been checked for.
STATURE_RANGE_M = (1.30, 2.10)
MASS_RANGE_KG = (30.0, 250.0)

# Used when a client skipped the question: ordinary older adults, a little on the heavy side.
TYPICAL = {Sex.FEMALE: (1.62, 72.0), Sex.MALE: (1.75, 84.0)}


@dataclass(frozen=True, slots=True)
class Segment:
    """One rigid segment of the table.

    Attributes:
        share: of body mass (one side, for limbs).
        centre: centre of mass, as a fraction of the length from the near end (the end at the
            trunk; for the trunk the shoulder end; for the head the crown).
        length: in fractions of stature.
    """

    share: float
    centre: float
    length: float


def _table(stature_mm: float, rows: Mapping[str, tuple[float, float, float]]) -> dict[str, Segment]:
    return {name: Segment(m, c, mm / stature_mm) for name, (m, c, mm) in rows.items()}


# mass share, centre of mass, length in mm (de Leva 1996, table 4). The trunk runs from the middle
# of the shoulder joints to the middle of the hips ("Trunk 3"), the head from the crown ("Head 2").
DE_LEVA: Mapping[Sex, Mapping[str, Segment]] = MappingProxyType(
    {
        Sex.MALE: _table(
            1741.0,
            {
                "head": (0.0694, 0.5002, 242.9),
                "trunk": (0.4346, 0.4310, 515.5),
                "upper_arm": (0.0271, 0.5772, 281.7),
                "forearm": (0.0162, 0.4574, 268.9),
                "hand": (0.0061, 0.7900, 86.2),
                "thigh": (0.1416, 0.4095, 422.2),
                "shank": (0.0433, 0.4395, 434.0),
                "foot": (0.0137, 0.4415, 258.1),
            },
        ),
        Sex.FEMALE: _table(
            1735.0,
            {
                "head": (0.0668, 0.4841, 243.7),
                "trunk": (0.4257, 0.3782, 497.9),
                "upper_arm": (0.0255, 0.5754, 275.1),
                "forearm": (0.0138, 0.4559, 264.3),
                "hand": (0.0056, 0.7474, 78.0),
                "thigh": (0.1478, 0.3612, 368.5),
                "shank": (0.0481, 0.4352, 432.3),
                "foot": (0.0129, 0.4014, 228.3),
            },
        ),
    }
)

LIMB_SEGMENTS = ("upper_arm", "forearm", "hand", "thigh", "shank", "foot")
SINGLE_SEGMENTS = ("head", "trunk")

# Fractions of stature after Drillis and Contini 1966, in Winter 2009.
ANKLE_HEIGHT = 0.039
FOOT_LENGTH = 0.152
FOOT_BREADTH = 0.055
HIP_HALF_WIDTH = 0.0955
SHOULDER_HALF_WIDTH = 0.129
# Between the hip joint centres: about 17 cm at 1.7 m in gait texts (from memory).
HIP_JOINT_HALF = 0.05
# Share of the foot behind the ankle and from heel to ball; about the same in anatomy texts.
HEEL_BEHIND_ANKLE = 0.25
HEEL_TO_BALL = 0.73


@dataclass(frozen=True)
class Body:
    """A body of one sex, stature (m) and mass (kg).

    Raises:
        OutOfRangeError: stature or mass outside ``STATURE_RANGE_M`` or ``MASS_RANGE_KG``.
    """

    sex: Sex
    stature: float
    mass: float

    def __post_init__(self) -> None:
        for name, value, (low, high) in (
            ("stature", self.stature, STATURE_RANGE_M),
            ("mass", self.mass, MASS_RANGE_KG),
        ):
            if not low <= value <= high:
                raise OutOfRangeError(f"{name} {value} is not between {low} and {high}")

    @cached_property
    def lengths(self) -> Mapping[str, float]:
        """Segment lengths in metres; ``neck`` runs from the mid-shoulder up to the crown."""
        metres = {name: s.length * self.stature for name, s in DE_LEVA[self.sex].items()}
        metres["foot"] = FOOT_LENGTH * self.stature
        # The crown closes the sum, so that a body standing upright is exactly its stature.
        upright = metres["shank"] + metres["thigh"] + metres["trunk"] + self.ankle_height
        metres["neck"] = self.stature - upright
        return metres

    @cached_property
    def shares(self) -> Mapping[str, float]:
        """Share of body mass of one segment (one side for limbs); the whole body sums to 1."""
        rows = DE_LEVA[self.sex]
        total = sum(rows[n].share for n in SINGLE_SEGMENTS)
        total += 2 * sum(rows[n].share for n in LIMB_SEGMENTS)
        return {name: row.share / total for name, row in rows.items()}

    @cached_property
    def centres(self) -> Mapping[str, float]:
        """Centre of mass of each segment, as a fraction of its length from the near end."""
        return {name: row.centre for name, row in DE_LEVA[self.sex].items()}

    @property
    def weight(self) -> float:
        """Body weight in newtons."""
        return self.mass * GRAVITY

    @property
    def ankle_height(self) -> float:
        """Height of the ankle joint above the sole, m."""
        return ANKLE_HEIGHT * self.stature

    @property
    def arm(self) -> float:
        """Shoulder to wrist, m."""
        return self.lengths["upper_arm"] + self.lengths["forearm"]

    @property
    def leg(self) -> float:
        """Hip to ankle, m."""
        return self.lengths["thigh"] + self.lengths["shank"]


def body_of(client: Client) -> Body:
    """The body of a client; skipped answers take the typical value for the sex.

    Answers outside what the geometry was checked for count as the nearest checked value.
    """
    stature, mass = TYPICAL[client.sex]
    if client.stature_cm is not None:
        stature = client.stature_cm / 100.0
    if client.mass_kg is not None:
        mass = client.mass_kg
    return _body(client.sex, _within(stature, STATURE_RANGE_M), _within(mass, MASS_RANGE_KG))


def _within(value: float, limits: tuple[float, float]) -> float:
    return min(max(value, limits[0]), limits[1])


@lru_cache(maxsize=1024)
def _body(sex: Sex, stature: float, mass: float) -> Body:
    return Body(sex, stature, mass)
