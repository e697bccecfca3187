"""One moment of a pose in centimetres: joints and props as single points."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from core.mechanics.body import Body
from core.mechanics.pose import Points, Pose, Reals, View


@dataclass(frozen=True, slots=True)
class PlacedProp:
    """A prop at one moment; lengths in cm, ``size`` as in :class:`core.mechanics.pose.Prop`."""

    kind: str
    at: complex
    to: complex | None
    size: float
    facing: int


@dataclass(frozen=True)
class Skeleton:
    """Where the joints are at one moment.

    Attributes:
        joints: as in :class:`core.mechanics.pose.Pose`, in cm.
        gaze: direction of the face, from the side; from in front its real part, the sine of the
            angle by which the head turns to +x, and the imaginary part that of the trunk.
        scale: stature over 165 cm; outlines are drawn for 165 cm.
        holding: kilograms in each hand by side.
        on_fists: hands rest on their fists, wrists straight.
        on_fingertips: hands touch a wall with their fingertips only, wrists straight.
        elbows_in: elbows stay in the ribs, seen from in front.
        tells: the joint whose way the arrow shows, "roll" (shoulders) or "breath"; "" for what
            moves most.
        pulses: the movement goes to and fro near its end.
        resting: sides whose hand lies on the body.
    """

    view: View
    joints: Mapping[str, complex]
    gaze: complex
    scale: float
    props: tuple[PlacedProp, ...]
    holding: Mapping[str, float]
    on_fists: bool = False
    on_fingertips: bool = False
    elbows_in: bool = False
    tells: str = ""
    pulses: bool = False
    resting: frozenset[str] = frozenset()

    def __getitem__(self, joint: str) -> complex:
        return self.joints[joint]

    @cached_property
    def hips(self) -> complex:
        """Between the hip joints."""
        return (self["hip_near"] + self["hip_far"]) / 2

    @cached_property
    def shoulders(self) -> complex:
        """Between the shoulder joints."""
        return (self["shoulder_near"] + self["shoulder_far"]) / 2

    @cached_property
    def trunk(self) -> complex:
        """Direction from hips to shoulders."""
        way = self.shoulders - self.hips
        return way / max(abs(way), 1e-6)

    @cached_property
    def front(self) -> complex:
        """Direction to which the chest looks, from the side."""
        return self.trunk * -1j

    @cached_property
    def turn(self) -> float:
        """Radians by which a head seen from in front is turned to +x."""
        return float(np.arcsin(self.gaze.real)) if self.view is View.FRONT else 0.0

    @cached_property
    def twist(self) -> float:
        """Radians by which a trunk seen from in front is turned to +x."""
        return float(np.arcsin(self.gaze.imag)) if self.view is View.FRONT else 0.0

    def prop(self, *kinds: str) -> PlacedProp | None:
        """The first prop of one of these kinds."""
        return next((prop for prop in self.props if prop.kind in kinds), None)


REFERENCE_STATURE = 165.0


def skeleton_of(pose: Pose, body: Body, setting: int, moment: int) -> Skeleton:
    """The pose of one dial setting at one moment, in cm."""

    def point(values: Points) -> complex:
        return 100.0 * complex(_one(values, setting, moment))

    return Skeleton(
        view=pose.view,
        joints={name: point(values) for name, values in pose.joints.items()},
        gaze=complex(_one(pose.gaze, setting, moment)),
        scale=100.0 * body.stature / REFERENCE_STATURE,
        props=tuple(
            PlacedProp(
                kind=prop.kind,
                at=point(prop.at),
                to=None if prop.to is None else point(prop.to),
                size=float(np.real(_one(np.asarray(prop.size), setting, moment))),
                facing=prop.facing,
            )
            for prop in pose.props
        ),
        holding={
            side: float(np.real(_one(np.asarray(held), setting, moment)))
            for side, held in pose.held.items()
        },
    )


def _one(values: Points | Reals, setting: int, moment: int) -> complex:
    """One entry of an array that may have one setting or one moment for all."""
    array = np.asarray(values)
    if array.ndim == 0:
        return complex(array)
    row = array[setting if array.shape[0] > 1 else 0]
    if row.ndim == 0:
        return complex(row)
    return complex(row[moment if row.shape[0] > 1 else 0])
