"""What hands do where they meet things.

The pose knows wrist joints; a picture needs palms that lie on a table, fists that hold a rail, and
elbows that do not pass through a table top.
"""

from dataclasses import dataclass, replace
from enum import StrEnum

import numpy as np

from core.figure.prop_sizes import DEPTHS
from core.figure.skeleton import PlacedProp, Skeleton
from core.mechanics.pose import SIDES, View, two_links

PALM = 3.3  # wrist joint above the surface under a flat hand, cm
NEAR_SURFACE = 6.5  # a wrist this close to a surface rests on it, cm
EDGE_HOLD = 6.0  # a wrist this close to an edge holds on to the edge, cm
LONGEST_ARM = 1.12  # a reaching arm is drawn longer by at most this: the shoulder comes along
NEARLY_STRAIGHT = 4.0  # an elbow this close to the line from shoulder to wrist, cm
ON_WALL = 14.0  # hands are drawn this much lower on a wall, so that the face is free, cm
LYING = 15.0  # a wrist this high beside someone on her back lies on the floor, cm
FINGERS = 14.8  # wrist to fingertips of a straight hand as it is drawn, cm
FINGERTIP_ROUNDS = 4  # the forearm's direction and the wrist's place settle after three
ELBOW_ROOM = 4.4  # elbow joint above a table top that it would pass through, cm


class Hand(StrEnum):
    """What a hand does."""

    LOOSE = "loose"
    FLAT = "flat"
    WALL = "wall"
    FINGERTIPS = "fingertips"
    RAIL = "rail"
    EDGE = "edge"
    RESTING = "resting"
    FIST = "fist"


@dataclass(frozen=True, slots=True)
class Grip:
    """What one hand does, the direction of its fingers, and whether it rests on its fist."""

    hand: Hand
    way: complex
    fist: bool = False


def touching(bones: Skeleton) -> tuple[Skeleton, dict[str, Grip]]:
    """The skeleton with hands set on what they touch, and what each hand does."""
    joints = dict(bones.joints)
    grips: dict[str, Grip] = {}
    band_ends = [end for p in bones.props if p.kind == "band" for end in (p.at, p.to or p.at)]
    rails = [prop for prop in bones.props if prop.kind == "rail"]
    for side in SIDES:
        wrist, fingers = joints[f"wrist_{side}"], joints[f"fingers_{side}"]
        way = (fingers - wrist) / max(abs(fingers - wrist), 1e-6)
        rests = side in bones.resting and bones.view is View.SIDE
        found = None if rests else _contact(bones, side, way)
        closed = bones.holding[side] > 0 and not rests
        closed |= any(abs(end - wrist) < IN_FIST for end in band_ends)
        closed |= any((rail.facing > 0) == (side == "near") for rail in rails)
        if closed:
            grips[side] = Grip(Hand.FIST, way)
        elif found is not None:
            wrist, grip = found
            grips[side] = replace(grip, fist=bones.on_fists)
            bend_arm(joints, side, wrist)
            if grip.hand is Hand.WALL and bones.on_fingertips:
                grips[side] = _reach_with_fingertips(bones, joints, side)
        elif rests:
            grips[side] = Grip(Hand.RESTING, _over_body(bones, wrist))
        else:
            grips[side] = Grip(Hand.LOOSE, way)
        if bones.view is View.FRONT:
            if not bones.elbows_in and grips[side].hand is not Hand.FINGERTIPS:
                _elbow_outward(bones, joints, side)
        else:
            _clear_face(bones, joints, side)
        _keep_elbow_out(bones, joints, side)
        _straighten(joints, side)
    props = tuple(_with_hands(prop, bones, joints) for prop in bones.props)
    return replace(bones, joints=joints, props=props), grips


def _over_body(bones: Skeleton, wrist: complex) -> complex:
    """Direction of the fingers of a hand that lies on the body: to the front, on the chest up."""
    high = abs(wrist - bones.hips) > abs(wrist - bones.shoulders)
    way = (
        0.55 * bones.front + 0.84 * bones.trunk if high else 0.98 * bones.front - 0.2 * bones.trunk
    )
    return way / abs(way)


def _with_hands(prop: PlacedProp, bones: Skeleton, joints: dict[str, complex]) -> PlacedProp:
    """A band whose ends are held goes to where the fists are drawn."""
    if prop.kind != "band" or prop.to is None:
        return prop
    ends = []
    for end in (prop.at, prop.to):
        held = [side for side in SIDES if abs(end - bones[f"wrist_{side}"]) < IN_FIST]
        if held:
            wrist, elbow = joints[f"wrist_{held[0]}"], joints[f"elbow_{held[0]}"]
            end = wrist + FIST * bones.scale * (wrist - elbow) / max(abs(wrist - elbow), 1e-6)
        ends.append(end)
    return replace(prop, at=ends[0], to=ends[1])


FIST = 4.4  # middle of a closed hand beyond the wrist, cm
IN_FIST = 4.0  # a band's end this close to a wrist is held, cm


STRETCHED = (0.982, 0.994)  # hip to ankle over thigh plus shank: from here a leg looks straight


def _straighten(joints: dict[str, complex], side: str) -> None:
    """A leg that is nearly straight is drawn straight: the pose keeps it just short of locked."""
    hip, knee, ankle = (joints[f"{name}_{side}"] for name in ("hip", "knee", "ankle"))
    thigh, shank = abs(knee - hip), abs(ankle - knee)
    low, high = STRETCHED
    share = min(max((abs(ankle - hip) / (thigh + shank) - low) / (high - low), 0.0), 1.0)
    on_line = hip + (ankle - hip) * thigh / (thigh + shank)
    joints[f"knee_{side}"] = knee + (on_line - knee) * share * 0.85


def _elbow_outward(bones: Skeleton, joints: dict[str, complex], side: str) -> None:
    """From in front an elbow bends away from the body."""
    shoulder, elbow, wrist = (joints[f"{n}_{side}"] for n in ("shoulder", "elbow", "wrist"))
    line = (wrist - shoulder) / max(abs(wrist - shoulder), 1e-6)
    off = (elbow - shoulder) - ((elbow - shoulder) * line.conjugate()).real * line
    inward = bones.shoulders - shoulder
    if (off * inward.conjugate()).real > 0:
        joints[f"elbow_{side}"] = elbow - 2 * off


FACE_FROM, FACE_TO = 8.0, 30.0  # cm of the wrist above the shoulder, along the trunk


def _clear_face(bones: Skeleton, joints: dict[str, complex], side: str) -> None:
    """A raised arm is drawn a little behind the ear, so that the face stays free."""
    shoulder = joints[f"shoulder_{side}"]
    raised = (joints[f"wrist_{side}"] - shoulder) * bones.trunk.conjugate()
    over_head = min(max((raised.real - FACE_FROM) / (FACE_TO - FACE_FROM), 0.0), 1.0)
    # An arm that reaches well forward passes in front of the face anyway.
    beside = min(max((22.0 - raised.imag * -1.0) / 12.0, 0.0), 1.0)
    turn = np.exp(0.19j * over_head * beside)
    for name in ("elbow", "wrist", "fingers"):
        at = joints[f"{name}_{side}"]
        joints[f"{name}_{side}"] = complex(shoulder + (at - shoulder) * turn)


def _contact(bones: Skeleton, side: str, way: complex) -> tuple[complex, Grip] | None:
    """Where the wrist goes and what the hand does, where it is on something."""
    scale, wrist = bones.scale, bones[f"wrist_{side}"]
    for prop in bones.props:
        ahead = (wrist - prop.at).real * prop.facing
        if prop.kind == "chair_back" and abs(wrist - prop.at) < 9.0:
            return prop.at + scale * (-4.6 * prop.facing + 3.4j), Grip(Hand.RAIL, prop.facing + 0j)
        reaches = (wrist - bones[f"shoulder_{side}"]).real * prop.facing
        if prop.kind == "wall" and abs(ahead) < NEAR_SURFACE and reaches > NEAR_SURFACE:
            x = prop.at.real - prop.facing * PALM * scale
            return _on_wall(bones, side, x), Grip(Hand.WALL, 1j)
        if prop.kind not in DEPTHS or prop.kind == "cushion":
            continue
        if prop.kind.endswith("_beside") and side == "near":
            continue
        above = wrist.imag - prop.at.imag
        if abs(above) < NEAR_SURFACE and abs(ahead) < EDGE_HOLD and prop.kind != "chair":
            at = prop.at + scale * (-3.0 * prop.facing + 3.2j)
            return at, Grip(Hand.EDGE, prop.facing + 0j)
        if abs(above) < NEAR_SURFACE and 0.0 < ahead < DEPTHS[prop.kind]:
            fingers = prop.facing if prop.kind != "chair" or prop.facing > 0 else -prop.facing
            return wrist.real + 1j * (prop.at.imag + PALM * scale), Grip(Hand.FLAT, fingers + 0j)
    on_back = bones.gaze.imag > 0.8 and wrist.imag < LYING and abs(way.imag) < 0.5
    if on_back or (wrist.imag < NEAR_SURFACE and abs(way.imag) < 0.75):
        return (
            wrist.real + 1j * (PALM * scale if on_back else max(wrist.imag, 2.6 * scale)),
            Grip(Hand.FLAT, 1.0 if way.real >= 0 else -1.0),
        )
    return None


def _on_wall(bones: Skeleton, side: str, x: float) -> complex:
    """Where a hand lies on a wall: somewhat below the pose's wrist, as far as the arm reaches."""
    shoulder, elbow, wrist = (bones[f"{n}_{side}"] for n in ("shoulder", "elbow", "wrist"))
    arm = 0.998 * (abs(elbow - shoulder) + abs(wrist - elbow))
    reach = float(np.sqrt(max(arm**2 - (x - shoulder.real) ** 2, 0.0)))
    low, high = shoulder.imag - reach, shoulder.imag + reach
    return x + 1j * min(max(wrist.imag - ON_WALL * bones.scale, low), high)


def _reach_with_fingertips(bones: Skeleton, joints: dict[str, complex], side: str) -> Grip:
    """Draws the wrist back until only the fingers, in line with the forearm, touch the wall."""
    touched = joints[f"wrist_{side}"]
    towards = 1.0 if touched.real > joints[f"shoulder_{side}"].real else -1.0
    wall = touched.real + towards * PALM * bones.scale
    height = touched.imag
    for _ in range(FINGERTIP_ROUNDS):
        way = _along_forearm(joints, side)
        back = FINGERS * bones.scale * max(abs(way.real), 0.2)
        bend_arm(joints, side, wall - towards * back + 1j * height)
        if bones.view is View.FRONT:
            _elbow_down(joints, side)
    return Grip(Hand.FINGERTIPS, _along_forearm(joints, side))


def _along_forearm(joints: dict[str, complex], side: str) -> complex:
    fore = joints[f"wrist_{side}"] - joints[f"elbow_{side}"]
    return fore / max(abs(fore), 1e-6)


def _elbow_down(joints: dict[str, complex], side: str) -> None:
    """Mirrors an elbow that is above the line from shoulder to wrist to below it."""
    shoulder, elbow, wrist = (joints[f"{n}_{side}"] for n in ("shoulder", "elbow", "wrist"))
    line = (wrist - shoulder) / max(abs(wrist - shoulder), 1e-6)
    off = (elbow - shoulder) - ((elbow - shoulder) * line.conjugate()).real * line
    if off.imag > 0:
        joints[f"elbow_{side}"] = elbow - 2 * off


def bend_arm(joints: dict[str, complex], side: str, wrist: complex) -> None:
    """Sends a wrist towards a point, as far as the arm goes; the elbow follows.

    It bends to the side it bent before; an arm that was straight bends downwards.
    """
    shoulder, elbow = joints[f"shoulder_{side}"], joints[f"elbow_{side}"]
    upper, fore = abs(elbow - shoulder), abs(joints[f"wrist_{side}"] - elbow)
    line = joints[f"wrist_{side}"] - shoulder
    off = (line.conjugate() * (elbow - shoulder)).imag / max(abs(line), 1e-6)
    down = -1 if (wrist - shoulder).real >= 0 else 1
    sign = down if abs(off) < NEARLY_STRAIGHT else (1 if off > 0 else -1)
    give = min(max(abs(wrist - shoulder) / (upper + fore), 1.0), LONGEST_ARM)
    upper, fore = upper * give, fore * give
    found, end = two_links(np.asarray(shoulder), np.asarray(wrist), upper, fore, sign)
    hand_length = abs(joints[f"fingers_{side}"] - joints[f"wrist_{side}"])
    joints[f"elbow_{side}"], joints[f"wrist_{side}"] = complex(found), complex(end)
    way = (joints[f"wrist_{side}"] - joints[f"elbow_{side}"]) / fore
    joints[f"fingers_{side}"] = joints[f"wrist_{side}"] + hand_length * way


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
