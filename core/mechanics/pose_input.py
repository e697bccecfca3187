"""What a pose function is given: the body, the moments, and every setting as an array.

A setting in a movement file is a number, or a pair (at the start, at the end of the movement).
A dial of the same name overrides the number, or the end of the pair.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from core.mechanics.body import Body
from core.mechanics.pose import Reals
from core.vocabulary import Band

HAND_SUPPORT = {
    "none": 0.0,
    "fingertips": 0.03,
    "one_hand": 0.08,
    "steady_hand": 0.11,
    "resting_hand": 0.14,
    "firm_hand": 0.20,
    "two_hands": 0.16,
    "press": 0.28,
}
"""Share of body weight that hands carry on a bench, chair back or rail. Authored: the most that
pressing hands take is half of the hip moment, pushing on armrests (Janssen 2002); one firm hand
does what a stick does, about a fifth of body weight (from memory)."""

BAND_NEWTONS = {Band.LIGHT: 13.0, Band.MEDIUM: 19.0, Band.HEAVY: 29.0}
"""Tension of one strand at twice its length, from commonly published ladders of stiffness."""

LARGEST_STRETCH = 200.0  # percent; beyond it bands stiffen and tear


def band_tension(newtons: Reals | float, stretch: Reals | float) -> Reals:
    """Newtons of one strand at a stretch in percent, ``newtons`` being its tension at 100 %.

    The line through measured points of natural-rubber bands, F = 11.1 + 0.0934 % for a band of
    20.4 N at 100 %: not proportional. Below 25 % the line is bent to zero; above 200 % it is cut.
    """
    percent = np.clip(stretch, 0.0, LARGEST_STRETCH)
    line = 0.543 + 0.457 * percent / 100.0
    at_quarter = 0.543 + 0.457 * 0.25
    return np.asarray(newtons * np.where(percent < 25.0, at_quarter * percent / 25.0, line))


@dataclass(frozen=True, slots=True)
class PoseInput:
    """Everything a pose function reads.

    Attributes:
        progress: 0 at the start pose, 1 at the end pose of the full range; shape
            (settings, moments).
        values: the pose settings of the rung.
        dials: dial settings as numbers, each of shape (settings, 1).
        surfaces: heights in metres of chair, bench, table and step.
        weighing: the pose is for its demand, not for a picture: what asks no more than something
            less deep is placed like that.
    """

    body: Body
    progress: Reals
    values: Mapping[str, object]
    dials: Mapping[str, Reals]
    surfaces: Mapping[str, float]
    weighing: bool = False

    def number(self, name: str, default: float = 0.0) -> Reals | float:
        """A setting that stays the same over the movement."""
        if name in self.dials:
            return self.dials[name]
        value = self.values.get(name, default)
        return float(value) if isinstance(value, (int, float)) else default

    def path(self, name: str, default: float = 0.0) -> Reals:
        """A setting over the movement, shape (settings, moments)."""
        value = self.values.get(name, default)
        start, end = value if isinstance(value, (list, tuple)) else (value, value)
        if name in self.dials:
            end = self.dials[name]
            start = start if isinstance(value, (list, tuple)) else end
        return np.asarray(start + (end - start) * self.progress)

    def word(self, name: str, default: str = "") -> str:
        """A setting that is a word."""
        value = self.values.get(name, default)
        return value if isinstance(value, str) else default

    def words(self, name: str, default: str) -> tuple[str, str]:
        """A setting that is one word, or one for the start and one for the end."""
        value = self.values.get(name, default)
        if isinstance(value, (list, tuple)):
            return str(value[0]), str(value[1])
        return str(value), str(value)

    def surface(self, name: str) -> float:
        """Height in metres of a piece of furniture, 0 for the floor."""
        return self.surfaces.get(name, 0.0)

    @property
    def settings(self) -> int:
        """Number of dial settings."""
        return int(self.progress.shape[0])

    def nothing_refused(self) -> "np.ndarray[tuple[int, ...], np.dtype[np.str_]]":
        """A refusal array that refuses nothing."""
        return np.full(self.settings, "", dtype="<U20")


def share_of_way(given: PoseInput) -> Reals:
    """0 at the start pose, 1 at the last moment, whatever the range; shape (settings, moments)."""
    return np.asarray(given.progress / np.maximum(given.progress[:, -1:], 1e-9))
