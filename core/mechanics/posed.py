"""A pose made ready for statics: body, masses and settings together.

The moment at a joint is the sum of segment weights and held weights times their horizontal
distance from it, plus contact forces and elastic tension. Moments come out as percent of body
weight times stature, forces as percent of body weight, so that bodies compare.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from core.mechanics.body import Body
from core.mechanics.pose import Points, Pose, Reals, centre
from core.mechanics.pose_input import BAND_NEWTONS, PoseInput, band_tension
from core.vocabulary import Band


@dataclass(frozen=True)
class Posed:
    """A pose with its body and settings, and its masses worked out once."""

    body: Body
    pose: Pose
    given: PoseInput

    @cached_property
    def masses(self) -> "MassTable":
        """Share of body mass and centre of every segment and held weight, found when asked."""
        return MassTable(self.pose, self.body)

    @cached_property
    def whole(self) -> tuple[Reals | float, Points]:
        """Share (over 1 with held weights) and centre of everything."""
        return centre(self.masses.values())

    def joint(self, name: str) -> Points:
        """A joint by name."""
        return self.pose.joints[name]

    def gravity(self, parts: tuple[str, ...], about: Points) -> Reals:
        """Sum of share times horizontal distance from ``about``, m."""
        found: Reals | float = 0.0
        for part in parts:
            if part in self.masses:
                share, where = self.masses[part]
                found = found + share * (where.real - about.real)
        return np.asarray(found)

    def percent(self, metres: Reals) -> Reals:
        """A moment in body weights times metres, as percent of weight times stature."""
        return 100.0 * metres / self.body.stature

    @cached_property
    def tension(self) -> Reals:
        """Tension of one strand of the band, in body weights."""
        newtons = self.given.number("band", BAND_NEWTONS[Band.LIGHT])
        if not self.given.word("band_used") and "band" not in self.given.dials:
            return np.zeros((1, 1))
        return band_tension(newtons, self.given.path("stretch", 100.0)) / self.body.weight


class MassTable(Mapping[str, tuple[Reals | float, Points]]):
    """The masses of a pose by name, each worked out when it is first asked for."""

    def __init__(self, pose: Pose, body: Body) -> None:
        """``body`` takes the pose."""
        self._pose, self._body = pose, body
        self._parts = pose.parts
        self._found: dict[str, tuple[Reals | float, Points]] = {}

    def __getitem__(self, part: str) -> tuple[Reals | float, Points]:
        if part not in self._found:
            if part not in self._parts:
                raise KeyError(part)
            self._found[part] = self._pose.mass(self._body, part)
        return self._found[part]

    def __contains__(self, part: object) -> bool:
        return part in self._parts

    def __iter__(self) -> Iterator[str]:
        return iter(self._parts)

    def __len__(self) -> int:
        return len(self._parts)


def cross(arm: Points, force: Points) -> Reals:
    return arm.real * force.imag - arm.imag * force.real
