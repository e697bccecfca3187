"""What hands do where they meet things, and which parts of the room are solid.

The pose knows wrist joints; a picture needs palms that lie on a table, fists that hold a rail, and
elbows that do not pass through a table top.
"""

from dataclasses import dataclass, replace
from enum import StrEnum

import numpy as np

from core.figure_prop_sizes import DEPTHS, SLABS
from core.figure_shapes import Outline
from core.figure_skeleton import PlacedProp, Skeleton
from core.pose import SIDES, two_links

PALM = 3.3  # wrist joint above the surface under a flat hand, cm
NEAR_SURFACE = 6.5  # a wrist this close to a surface rests on it, cm
ELBOW_ROOM = 4.4  # elbow joint above a table top that it would pass through, cm


class Hand(StrEnum):
    """What a hand does."""

    LOOSE = "loose"
    FLAT = "flat"
    WALL = "wall"
    RAIL = "rail"
    FIST = "fist"


@dataclass(frozen=True, slots=True)
class Grip:
    """What one hand does, and the direction of its fingers."""

    hand: Hand
    way: complex


@dataclass(frozen=True, slots=True)
class Solid:
    """A block of the room that no body part may enter, cm."""

    left: float
    right: float
    bottom: float
    top: float

    def pushed(self, outline: Outline) -> Outline:
        """The outline with points inside the block moved out by the shortest way."""
        x, y = outline.real, outline.imag
        inside = (x > self.left) & (x < self.right) & (y > self.bottom) & (y < self.top)
        if not inside.any():
            return outline
        ways = np.stack([self.top - y, x - self.left, self.right - x, y - self.bottom])
        ways[:, ~inside] = np.inf
        nearest = np.argmin(ways, axis=0)
        out = outline.copy()
        for way, target in enumerate((1j * self.top, self.left, self.right, 1j * self.bottom)):
            chosen = inside & (nearest == way)
            out[chosen] = x[chosen] + target if way in (0, 3) else target + 1j * y[chosen]
        return np.asarray(out)


FLOOR = Solid(-1e4, 1e4, -1e4, 0.0)


def solids_of(prop: PlacedProp) -> tuple[Solid, ...]:
    """The solid blocks of a prop: seat, table top, step, wall; legs of furniture are not solid."""
    x, y = prop.at.real, prop.at.imag
    if prop.kind == "wall":
        return (Solid(x, 1e4, -1e4, 1e4),) if prop.facing > 0 else (Solid(-1e4, x, -1e4, 1e4),)
    if prop.kind not in DEPTHS:
        return ()
    other = x + prop.facing * DEPTHS[prop.kind]
    bottom = 0.0 if prop.kind == "step" else y - SLABS[prop.kind]
    return (Solid(min(x, other), max(x, other), bottom, y),)


def touching(bones: Skeleton) -> tuple[Skeleton, dict[str, Grip]]:
    """The skeleton with hands set on what they touch, and what each hand does."""
    joints = dict(bones.joints)
    grips: dict[str, Grip] = {}
    band_ends = [end for p in bones.props if p.kind == "band" for end in (p.at, p.to or p.at)]
    for side in SIDES:
        wrist, fingers = joints[f"wrist_{side}"], joints[f"fingers_{side}"]
        way = (fingers - wrist) / max(abs(fingers - wrist), 1e-6)
        found = _contact(bones, wrist, way)
        if found is not None:
            wrist, grips[side] = found
            _bend(joints, side, wrist)
        elif bones.holding[side] > 0 or any(abs(end - wrist) < 4.0 for end in band_ends):
            grips[side] = Grip(Hand.FIST, way)
        else:
            grips[side] = Grip(Hand.LOOSE, way)
        _keep_elbow_out(bones, joints, side)
        _straighten(joints, side)
    return replace(bones, joints=joints), grips


STRETCHED = (0.985, 0.997)  # hip to ankle over thigh plus shank: from here a leg looks straight


def _straighten(joints: dict[str, complex], side: str) -> None:
    """A leg that is nearly straight is drawn straight: the pose keeps it just short of locked."""
    hip, knee, ankle = (joints[f"{name}_{side}"] for name in ("hip", "knee", "ankle"))
    thigh, shank = abs(knee - hip), abs(ankle - knee)
    low, high = STRETCHED
    share = min(max((abs(ankle - hip) / (thigh + shank) - low) / (high - low), 0.0), 1.0)
    on_line = hip + (ankle - hip) * thigh / (thigh + shank)
    joints[f"knee_{side}"] = knee + (on_line - knee) * share * 0.8


def _contact(bones: Skeleton, wrist: complex, way: complex) -> tuple[complex, Grip] | None:
    """Where the wrist goes and what the hand does, where it is on something."""
    scale = bones.scale
    for prop in bones.props:
        ahead = (wrist - prop.at).real * prop.facing
        if prop.kind == "chair_back" and abs(wrist - prop.at) < 9.0:
            return prop.at + scale * (-4.6 * prop.facing + 3.4j), Grip(Hand.RAIL, prop.facing + 0j)
        if prop.kind == "wall" and abs(ahead) < NEAR_SURFACE:
            at = prop.at.real - prop.facing * PALM * scale
            return at + 1j * wrist.imag, Grip(Hand.WALL, 1j)
        if prop.kind not in DEPTHS or prop.kind == "chair":
            continue
        above = wrist.imag - prop.at.imag
        if abs(above) < NEAR_SURFACE and -NEAR_SURFACE < ahead < DEPTHS[prop.kind]:
            x = wrist.real + prop.facing * max(0.0, 2.0 - ahead)
            return x + 1j * (prop.at.imag + PALM * scale), Grip(Hand.FLAT, prop.facing + 0j)
    if wrist.imag < NEAR_SURFACE and abs(way.imag) < 0.75:
        return (
            wrist.real + 1j * max(wrist.imag, 2.6 * scale),
            Grip(Hand.FLAT, 1.0 if way.real >= 0 else -1.0),
        )
    return None


def _bend(joints: dict[str, complex], side: str, wrist: complex) -> None:
    """Sets a wrist and lets the elbow follow, bending to the side it bent before."""
    shoulder, elbow = joints[f"shoulder_{side}"], joints[f"elbow_{side}"]
    upper, fore = abs(elbow - shoulder), abs(joints[f"wrist_{side}"] - elbow)
    line = joints[f"wrist_{side}"] - shoulder
    turn = (line.conjugate() * (elbow - shoulder)).imag
    found, end = two_links(
        np.asarray(shoulder), np.asarray(wrist), upper, fore, 1 if turn > 1.0 else -1
    )
    joints[f"elbow_{side}"] = complex(found)
    joints[f"wrist_{side}"] = complex(end)


def _keep_elbow_out(bones: Skeleton, joints: dict[str, complex], side: str) -> None:
    """Lifts an elbow that would pass through a table top or the floor: it flares to the viewer."""
    elbow = joints[f"elbow_{side}"]
    room = ELBOW_ROOM * bones.scale
    if elbow.imag < room:
        elbow = elbow.real + 1j * room
    for prop in bones.props:
        if prop.kind in ("table", "bench", "step"):
            ahead = (elbow - prop.at).real * prop.facing
            above = elbow.imag - prop.at.imag
            if ahead > -room and -room < above < room:
                # Before the edge the elbow may hang lower the farther it is from the edge.
                need = room * min(1.0, (ahead + room) / room)
                elbow = elbow.real + 1j * max(elbow.imag, prop.at.imag + need)
        elif prop.kind == "wall" and (prop.at - elbow).real * prop.facing < room:
            elbow = prop.at.real - prop.facing * room + 1j * elbow.imag
    joints[f"elbow_{side}"] = elbow
