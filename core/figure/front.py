"""A person seen from in front, standing, seated or lying on one side."""

import numpy as np

from core.figure.contact import Grip, Hand
from core.figure.face import from_front
from core.figure.head import CROWN_ABOVE, HEAD_SIZE, HeadFrame, shade_of
from core.figure.limbs import EDGE, SOLE, darker, hand
from core.figure.people import Look
from core.figure.props import chair_from_front
from core.figure.shapes import Outline, Shape, mixed, open_curve, oval, smooth, stroke, tube
from core.figure.skeleton import Skeleton
from core.figure.solids import moved_out
from core.mechanics.pose import SIDES

COLLAR_AHEAD = 6.0  # the collar lies this far before the axis of a turning trunk, cm
LEG_INWARD = 0.62  # trouser legs start this far out towards the hip joints


def front_person(
    bones: Skeleton, look: Look, grips: dict[str, Grip], bands: list[Shape]
) -> list[Shape]:
    """All shapes in drawing order; a seated lap comes before the shirt, bands under the hands."""
    legs = [shape for side in ("far", "near") for shape in _leg(bones, look, side)]
    shirt = _shirt(bones, look)
    body = [*shirt, *legs] if _seated(bones) else [*legs, *shirt]
    arms = {side: front_arm(bones, look, side, grips[side]) for side in SIDES}
    under = arms.pop("far") if _lies(bones) else []
    over = [shape for side in ("far", "near") for shape in arms.get(side, ())]
    chair = bones.prop("chair_before")
    before = chair_from_front(chair.at) if chair else []
    return [*under, *body, *_head(bones, look), *before, *bands, *over]


def _seated(bones: Skeleton) -> bool:
    return bones.prop("chair_front") is not None


def _lies(bones: Skeleton) -> bool:
    return abs(bones.trunk.imag) < 0.5


def _leg(bones: Skeleton, look: Look, side: str) -> list[Shape]:
    s = bones.scale
    g = 1.0 + 0.4 * (look.fullness - 1.0)
    hips = bones.hips
    hip = hips + LEG_INWARD * (bones[f"hip_{side}"] - hips)
    knee, ankle = bones[f"knee_{side}"], bones[f"ankle_{side}"]
    end = knee + (ankle - knee) * 0.94
    top = 8.6 * g * s
    thigh = tube(
        hip,
        knee,
        [(0.0, top), (0.4, 7.9 * g * s), (1.0, 6.2 * s)],
        [(0.0, top), (0.4, 7.9 * g * s), (1.0, 6.2 * s)],
    )
    radii = [(0.0, 6.1 * s), (0.3, 6.0 * s), (0.8, 4.8 * s), (1.0, 4.7 * s)]
    shank = tube(knee, end, radii, radii, round_end=False)
    sock = tube(
        knee + (ankle - knee) * 0.85,
        ankle,
        [(0, 3.3 * s), (1, 3.4 * s)],
        [(0, 3.3 * s), (1, 3.4 * s)],
    )
    shapes = [
        Shape(f"sock_{side}", (sock,), mixed(look.skin, "#ffffff", 0.72)),
        *_shoe(bones, look, side),
        Shape(f"leg_{side}", (thigh, shank), look.trousers, darker(look.trousers, 0.3), 0.3 * s),
    ]
    if _seated(bones):
        cap = oval(knee + 0.5j * s, 6.6 * s, 6.4 * s)
        shapes.append(Shape(f"leg_{side}", (cap,), mixed(look.trousers, "#ffffff", 0.07)))
    return shapes


def _shoe(bones: Skeleton, look: Look, side: str) -> list[Shape]:
    """A shoe seen from its toes."""
    s = bones.scale
    ankle, heel, toe = (bones[f"{n}_{side}"] for n in ("ankle", "heel", "toe"))
    w = (heel - ankle) / max(abs(heel - ankle), 1e-6)
    v = w * 1j
    height = abs(heel - ankle)
    out = ((toe - heel) * v.conjugate()).real * 0.45
    middle = ankle + out * v
    upper = smooth(
        (
            ankle - 1.2 * s * w - 3.4 * s * v,
            ankle + 2.0 * s * w - 4.2 * s * v,
            middle + (height - 0.8 * s) * w - 5.2 * s * v,
            middle + (height - 0.4 * s) * w,
            middle + (height - 0.8 * s) * w + 5.2 * s * v,
            ankle + 2.0 * s * w + 4.2 * s * v,
            ankle - 1.2 * s * w + 3.4 * s * v,
            ankle - 0.4 * s * w,
        )
    )
    low, high = height, height - 1.9 * s
    sole = smooth(
        [
            middle + a * w + b * s * v
            for a, b in ((low, -4.6), (low, 4.6), (high, 5.4), (high, -5.4))
        ],
        4,
    )
    laces = tuple(
        stroke(
            np.array([ankle + k * s * w - 2.0 * s * v, ankle + k * s * w + 2.0 * s * v]), 0.7 * s
        )
        for k in (0.9, 2.4)
    )
    return [
        Shape(f"sole_{side}", (sole,), darker(look.shoes, SOLE)),
        Shape(f"shoe_{side}", (upper,), look.shoes),
        Shape(f"lace_{side}", laces, mixed(look.shoes, "#ffffff", 0.45)),
    ]


def _shirt(bones: Skeleton, look: Look) -> list[Shape]:
    s, g = bones.scale, look.fullness
    up, hips = bones.trunk, bones.hips
    right = up * -1j
    length = abs(bones.shoulders - hips)
    outs = {
        side: abs(((bones[f"shoulder_{side}"] - hips) * right.conjugate()).real) for side in SIDES
    }
    hem = 0.02 if _seated(bones) else -0.12
    half = (
        (hem, 17.0 * (0.6 + 0.4 * g)),
        (0.06, 16.6 * (0.6 + 0.4 * g)),
        (0.38, 13.6 * (0.3 + 0.7 * g)),
        (0.70, 15.4 + 0.5 * look.bust),
        (0.86, 16.0),
    )

    def at(share: float, out: float) -> complex:
        return hips + up * share * length + right * out

    points = [at(t, out * s) for t, out in half]
    points += [
        at(0.99, outs["near"] + 2.6 * s),
        at(1.055, outs["near"] + 0.4 * s),
        at(1.095, outs["near"] - 5.0 * s),
        at(1.13, 5.6 * s),
        at(1.10, 0.0),
        at(1.13, -5.6 * s),
        at(1.095, -outs["far"] + 5.0 * s),
        at(1.055, -outs["far"] - 0.4 * s),
        at(0.99, -outs["far"] - 2.6 * s),
    ]
    points += [at(t, -out * s) for t, out in reversed(half)]
    points.append(at(hem - 0.015, 0.0))
    aside = COLLAR_AHEAD * s * np.sin(bones.twist)
    collar = (
        at(1.135, 5.4 * s),
        at(1.06, 3.0 * s + aside),
        at(1.035, aside),
        at(1.06, -3.0 * s + aside),
    )
    rim = open_curve((*collar, at(1.135, -5.4 * s)))
    base = bones.shoulders + 0.105 * length * up
    top = bones["neck"] + 3.0 * s * up
    neck = tube(
        base, top, [(0, 5.0 * s), (1, 5.0 * s)], [(0, 5.0 * s), (1, 5.0 * s)], round_start=False
    )
    opening = smooth((*collar, at(1.135, -5.4 * s), at(1.2, 0.0)), 4)
    return [
        Shape("shirt", (smooth(points),), look.top),
        Shape("neck", (neck, opening), shade_of(look.skin)),
        Shape("collar", (stroke(rim, 1.3 * s),), darker(look.top, 0.22)),
    ]


def _head(bones: Skeleton, look: Look) -> list[Shape]:
    size = HEAD_SIZE * bones.scale
    up = bones["crown"] - bones["neck"]
    up = up / max(abs(up), 1e-6)
    frame = HeadFrame(bones["crown"] - CROWN_ABOVE * size * up, up * -1j, up, size)
    head = from_front(look, frame, bones.turn)
    shift = moved_out((o for shape in head for o in shape.outlines), bones.props)
    return [shape.moved(shift) for shape in head]


def front_arm(bones: Skeleton, look: Look, side: str, grip: Grip) -> list[Shape]:
    """An arm with sleeve and hand."""
    s = bones.scale
    g = 1.0 + 0.5 * (look.fullness - 1.0)
    shoulder, elbow, wrist = (bones[f"{n}_{side}"] for n in ("shoulder", "elbow", "wrist"))
    inward = (bones.shoulders - shoulder) / max(abs(bones.shoulders - shoulder), 1e-6)
    shoulder = shoulder + 1.4 * s * inward - 2.6 * s * bones.trunk
    if _lies(bones):
        rest = 5.8j * g * s
        shoulder, elbow, wrist = (
            p.real + 1j * max(p.imag, rest.imag) for p in (shoulder, elbow, wrist)
        )
    upper_radii = [(0.0, 4.5 * g * s), (1.0, 3.9 * g * s)]
    fore_radii = [(0.0, 3.9 * g * s), (0.3, 3.9 * g * s), (1.0, 2.7 * s)]
    upper = tube(shoulder, elbow, upper_radii, upper_radii)
    fore = tube(elbow, wrist, fore_radii, fore_radii)
    palm = hand(bones, side, grip) if grip.hand is not Hand.LOOSE else (_mitten(bones, side),)
    cuff = shoulder + (elbow - shoulder) * min(look.sleeve, 1.0)
    sleeve_radii = [(0.0, 5.5 * g * s), (0.5, 5.4 * g * s), (1.0, 4.9 * g * s)]
    sleeve = [tube(shoulder, cuff, sleeve_radii, sleeve_radii, round_end=look.sleeve > 1.0)]
    if look.sleeve > 1.0:
        end = elbow + (wrist - elbow) * (look.sleeve - 1.0)
        radii = [(0.0, 4.9 * g * s), (1.0, 4.6 * g * s)]
        sleeve.append(tube(elbow, end, radii, radii, round_end=False))
    way = (cuff - shoulder) / max(abs(cuff - shoulder), 1e-6)
    seam = [
        stroke(
            np.array(
                [
                    shoulder + 3.0 * s * way + k * 5.4 * g * s * way * 1j,
                    cuff + k * 4.9 * g * s * way * 1j,
                ]
            ),
            EDGE * s,
        )
        for k in (1, -1)
    ]
    seam.append(
        stroke(np.array([cuff + 4.9 * g * s * way * 1j, cuff - 4.9 * g * s * way * 1j]), EDGE * s)
    )
    skin = look.skin
    return [
        Shape(f"arm_{side}", (upper, fore, *palm), skin, darker(skin, 0.3), EDGE * s),
        Shape(f"sleeve_{side}", tuple(sleeve), look.top),
        Shape(f"seam_{side}", tuple(seam), darker(look.top, 0.3)),
    ]


def _mitten(bones: Skeleton, side: str) -> Outline:
    """A relaxed hand; where the forearm comes down from the side, it lies with fingers down."""
    s = bones.scale
    wrist, elbow = bones[f"wrist_{side}"], bones[f"elbow_{side}"]
    way = (wrist - elbow) / max(abs(wrist - elbow), 1e-6)
    if way.imag < -0.3 and not _lies(bones):
        way = 0.35 * way - 0.65j
        way = way / abs(way)
    sides = [(0.0, 2.7 * s), (0.45, 3.9 * s), (1.0, 2.4 * s)]
    return tube(wrist, wrist + 9.0 * s * way, sides, sides)
