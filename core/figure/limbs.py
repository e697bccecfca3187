"""Arms, hands, legs and shoes from the side."""

from dataclasses import replace

import numpy as np

from core.figure.contact import PALM, Grip, Hand
from core.figure.head import shade_of
from core.figure.people import Look
from core.figure.shapes import Outline, Shape, disc, mixed, open_curve, smooth, stroke, tube
from core.figure.skeleton import Skeleton

DARK = "#211c2b"
FAR = 0.26  # how much darker the far limbs are
SOLE = 0.5  # how much darker a sole is than its shoe
RESTING_HAND = 6.2  # wrist to knuckles of a hand that lies on the body, fingers round it, cm
EDGE = 0.55  # width of the line around the near arm, cm


def darker(colour: str, share: float) -> str:
    """The colour in shade."""
    return mixed(colour, DARK, share)


def leg(bones: Skeleton, look: Look, side: str) -> list[Shape]:
    """One trouser leg, ankle and shoe."""
    s = bones.scale
    g = 1.0 + 0.4 * (look.fullness - 1.0)
    hip, knee, ankle = (bones[f"{name}_{side}"] for name in ("hip", "knee", "ankle"))
    cloth = darker(look.trousers, FAR) if side == "far" else look.trousers
    thigh = tube(
        hip,
        knee,
        [(0.0, 7.6 * g * s), (0.35, 8.1 * g * s), (0.8, 6.4 * s), (1.0, 5.9 * s)],
        [(0.0, 7.6 * g * s), (0.35, 7.6 * g * s), (0.8, 6.0 * s), (1.0, 5.6 * s)],
    )
    end = knee + (ankle - knee) * 0.90
    shank = tube(
        knee,
        end,
        [(0.0, 5.8 * s), (0.3, 5.3 * s), (0.75, 4.5 * s), (1.0, 4.5 * s)],
        [(0.0, 5.6 * s), (0.32, 6.3 * s), (0.75, 4.9 * s), (1.0, 4.5 * s)],
    )
    skin = darker(look.skin, FAR) if side == "far" else look.skin
    sock = tube(
        knee + (ankle - knee) * 0.8,
        ankle - (ankle - knee) / max(abs(ankle - knee), 1e-6) * 0.5,
        [(0.0, 3.4 * s), (1.0, 3.5 * s)],
        [(0.0, 3.4 * s), (1.0, 3.5 * s)],
    )
    return [
        Shape(
            f"sock_{side}", (sock,), mixed(skin, "#ffffff", 0.72) if side == "near" else "#c9c4bf"
        ),
        *shoe(bones, look, side),
        Shape(f"shin_{side}", (shank,), cloth),
        Shape(f"thigh_{side}", (thigh,), cloth),
    ]


def shoe(bones: Skeleton, look: Look, side: str) -> list[Shape]:
    """A whole shoe on its sole line; the toe part bends at the ball."""
    s = bones.scale
    heel, ball, toe, ankle = (bones[f"{n}_{side}"] for n in ("heel", "ball", "toe", "ankle"))
    a = (ball - heel) / max(abs(ball - heel), 1e-6)
    b = (toe - ball) / max(abs(toe - ball), 1e-6)
    n, m = a * 1j, b * 1j
    if ((ankle - heel) * n.conjugate()).real < 0:
        n, m = -n, -m
    mid = (n + m) / max(abs(n + m), 1e-6)
    upper = (
        heel - 0.6 * s * a + 1.0 * s * n,
        heel - 1.5 * s * a + 3.4 * s * n,
        heel - 0.9 * s * a + 6.4 * s * n,
        ankle - 4.4 * s * a + 2.2 * s * n,
        ankle - 2.0 * s * a + 2.6 * s * n,
        ankle + 3.4 * s * a + 2.2 * s * n,
        ankle + 5.6 * s * a + 1.4 * s * n,
        ball - 3.4 * s * a + 6.6 * s * n,
        ball + 0.6 * s * b + 5.4 * s * mid,
        toe - 2.4 * s * b + 4.7 * s * m,
        toe - 0.1 * s * b + 3.7 * s * m,
        toe + 0.9 * s * b + 2.0 * s * m,
        toe + 0.4 * s * b + 0.9 * s * m,
        ball + 1.0 * s * mid,
    )
    line = np.array(
        [heel - 0.7 * s * a, heel + 0.5 * (ball - heel), ball, (ball + toe) / 2, toe + 0.4 * s * b]
    )
    thick = np.array([n, n, mid, m, m]) * np.array([2.2, 2.0, 1.9, 1.9, 1.9]) * s
    tip = toe + 1.3 * s * b + 1.0 * s * m
    back = heel - 1.4 * s * a + 1.1 * s * n
    sole = smooth(np.concatenate([line, [tip], (line + thick)[::-1], [back]]), 3)
    colour = darker(look.shoes, FAR) if side == "far" else look.shoes
    rubber = darker(colour, SOLE)
    lace = open_curve((ankle + 4.4 * s * a - 0.6 * s * n, ankle + 7.6 * s * a - 1.2 * s * n), 2)
    return [
        Shape(f"shoe_{side}", (smooth(upper),), colour),
        Shape(f"sole_{side}", (sole,), rubber),
        Shape(f"lace_{side}", (stroke(lace, 0.9 * s),), mixed(colour, "#ffffff", 0.45)),
    ]


def arm(bones: Skeleton, look: Look, side: str, grip: Grip) -> list[Shape]:
    """One arm with sleeve and hand."""
    s = bones.scale
    g = 1.0 + 0.5 * (look.fullness - 1.0)
    shoulder, elbow, wrist = (bones[f"{n}_{side}"] for n in ("shoulder", "elbow", "wrist"))
    skin = shade_of(look.skin) if side == "far" else look.skin
    cloth = darker(look.top, FAR) if side == "far" else look.top
    upper = tube(
        shoulder,
        elbow,
        [(0.0, 4.6 * g * s), (0.5, 4.4 * g * s), (1.0, 3.9 * g * s)],
        [(0.0, 4.6 * g * s), (0.5, 4.5 * g * s), (1.0, 3.9 * g * s)],
    )
    fore = tube(
        elbow,
        wrist,
        [(0.0, 3.9 * g * s), (0.3, 4.0 * g * s), (1.0, 2.7 * s)],
        [(0.0, 3.9 * g * s), (0.3, 3.8 * g * s), (1.0, 2.6 * s)],
    )
    palm = hand(bones, side, grip)
    shapes = [Shape(f"arm_{side}", (upper, fore, *palm), skin)]
    if side == "near":
        # A line keeps the arm apart from a body or a hand of the same colour behind it.
        shapes = [replace(shapes[0], edge=darker(look.skin, 0.3), edge_width=EDGE * s)]
    shapes.extend(_sleeve(bones, look, side, g, cloth))
    if grip.hand in (Hand.FIST, Hand.RAIL):
        shapes.extend(_knuckles(bones, side, grip, darker(skin, 0.28)))
    return shapes


def _sleeve(bones: Skeleton, look: Look, side: str, g: float, cloth: str) -> list[Shape]:
    s = bones.scale
    shoulder, elbow, wrist = (bones[f"{n}_{side}"] for n in ("shoulder", "elbow", "wrist"))
    reach = min(look.sleeve, 1.0)
    cuff = shoulder + (elbow - shoulder) * reach
    over = tube(
        shoulder,
        cuff,
        [(0.0, 5.6 * g * s), (0.5, 5.4 * g * s), (1.0, 4.9 * g * s)],
        [(0.0, 5.6 * g * s), (0.5, 5.5 * g * s), (1.0, 5.0 * g * s)],
        round_end=look.sleeve > 1.0,
    )
    outlines: tuple[Outline, ...] = (over,)
    if look.sleeve > 1.0:
        end = elbow + (wrist - elbow) * (look.sleeve - 1.0)
        radii = [(0.0, 4.9 * g * s), (1.0, 4.6 * g * s)]
        outlines += (tube(elbow, end, radii, radii, round_end=False),)
    shapes = [Shape(f"sleeve_{side}", outlines, cloth)]
    if side == "near":
        shapes.append(_seams(shoulder, elbow, cuff, g * s, darker(look.top, 0.3), EDGE * s))
    return shapes


def _seams(
    shoulder: complex, elbow: complex, cuff: complex, size: float, line: str, width: float
) -> Shape:
    """Lines along both sides of a sleeve and its cuff; the shoulder runs on into the shirt."""
    way = (elbow - shoulder) / max(abs(elbow - shoulder), 1e-6)
    n = way * 1j
    lines = []
    for side in (1, -1):
        start = shoulder + (cuff - shoulder) * (0.18 if side > 0 else 0.12)
        middle = shoulder + (cuff - shoulder) * 0.6
        curve = (start + side * 5.5 * size * n, middle + side * 5.4 * size * n)
        lines.append(stroke(open_curve((*curve, cuff + side * 4.9 * size * n), 3), width, 1.0))
    lines.append(stroke(np.array([cuff + 4.9 * size * n, cuff - 4.9 * size * n]), width))
    return Shape("seam_near", tuple(lines), line)


def hand(bones: Skeleton, side: str, grip: Grip) -> tuple[Outline, ...]:
    """The outlines of a hand at the wrist."""
    s = bones.scale
    wrist, elbow = bones[f"wrist_{side}"], bones[f"elbow_{side}"]
    a = grip.way
    fore = (wrist - elbow) / max(abs(wrist - elbow), 1e-6)
    points: tuple[complex, ...]
    if grip.hand in (Hand.FLAT, Hand.WALL) and grip.fist:
        down = -1j if grip.hand is Hand.FLAT else (1.0 if _wall_ahead(bones, side) else -1.0)
        radius = 4.0 * s
        return (disc(wrist + down * (PALM * s - radius), radius),)
    if grip.hand in (Hand.FLAT, Hand.WALL):
        # Down is towards the surface.
        down = -1j if grip.hand is Hand.FLAT else (1.0 if _wall_ahead(bones, side) else -1.0)
        points = (
            wrist - 1.6 * a - 1.4 * down,
            wrist + (1.5 * a - 2.9 * down) * s,
            wrist + (6.0 * a - 1.2 * down) * s,
            wrist + (11.5 * a + 0.7 * down) * s,
            wrist + (15.6 * a + 1.6 * down) * s,
            wrist + (16.4 * a + 2.6 * down) * s,
            wrist + (15.0 * a + 3.2 * down) * s,
            wrist + (7.0 * a + 3.2 * down) * s,
            wrist + (0.5 * a + 3.2 * down) * s,
            wrist + (-2.4 * a + 2.0 * down) * s,
        )
        return (smooth(points),)
    if grip.hand is Hand.EDGE:
        f, edge = a.real, wrist + s * (3.0 * a.real - 3.2j)
        points = (
            wrist + s * (-2.2 * f + 1.6j),
            edge + s * (-1.4 * f + 4.6j),
            edge + s * (3.4 * f + 3.4j),
            edge + s * (8.4 * f + 2.0j),
            edge + s * (9.4 * f + 0.7j),
            edge + s * (8.0 * f + 0.1j),
            edge + s * (0.4 * f + 0.2j),
            edge + s * (-0.6 * f - 3.6j),
            edge + s * (-2.4 * f - 4.2j),
            edge + s * (-3.4 * f - 2.0j),
            wrist + s * (-1.6 * f - 2.4j),
        )
        return (smooth(points),)
    if grip.hand is Hand.RAIL:
        rail = wrist + s * (4.6 * a.real - 3.4j)
        points = (
            wrist + s * (-1.0 * a.real + 1.8j),
            rail + s * (-1.0 * a.real + 4.6j),
            rail + s * (2.6 * a.real + 4.0j),
            rail + s * (4.6 * a.real + 0.8j),
            rail + s * (4.0 * a.real - 3.6j),
            rail + s * (2.0 * a.real - 4.2j),
            rail + s * (0.6 * a.real - 1.0j),
            rail + s * (-3.2 * a.real - 0.6j),
            wrist + s * (-0.6 * a.real - 2.6j),
        )
        return (smooth(points),)
    if grip.hand is Hand.RESTING:
        sides = [(0.0, 2.7 * s), (0.45, 3.8 * s), (1.0, 2.4 * s)]
        return (tube(wrist, wrist + RESTING_HAND * s * a, sides, sides),)
    if grip.hand is Hand.FIST:
        centre = wrist + 4.4 * s * fore
        return (
            disc(centre, 4.3 * s),
            tube(wrist, centre, [(0, 2.7 * s), (1, 3.6 * s)], [(0, 2.7 * s), (1, 3.6 * s)]),
        )
    n = fore * 1j
    fingers = (
        wrist + 2.5 * s * n,
        wrist + s * (4.0 * fore + 3.5 * n),
        wrist + s * (8.6 * fore + 3.3 * n),
        wrist + s * (12.6 * fore + 2.9 * n),
        wrist + s * (14.8 * fore + 1.9 * n),
        wrist + s * (14.4 * fore + 0.2 * n),
        wrist + s * (10.0 * fore - 1.9 * n),
        wrist + s * (5.0 * fore - 3.2 * n),
        wrist - 2.5 * s * n,
    )
    thumb = tube(
        wrist + s * (2.6 * fore + 2.2 * n),
        wrist + s * (8.6 * fore + 4.4 * n),
        [(0, 1.6 * s), (1, 1.2 * s)],
        [(0, 1.6 * s), (1, 1.2 * s)],
    )
    return smooth(fingers), thumb


def _wall_ahead(bones: Skeleton, side: str) -> bool:
    wall = bones.prop("wall")
    return wall is None or (wall.at - bones[f"wrist_{side}"]).real > 0


def _knuckles(bones: Skeleton, side: str, grip: Grip, line: str) -> list[Shape]:
    """Fine lines between the fingers of a closed hand."""
    s = bones.scale
    wrist, elbow = bones[f"wrist_{side}"], bones[f"elbow_{side}"]
    if grip.hand is Hand.RAIL:
        rail = wrist + s * (4.6 * grip.way.real - 3.4j)
        curves = [
            (rail + s * (x * grip.way.real + 2.8j), rail + s * ((x + 0.7) * grip.way.real - 2.6j))
            for x in (1.4, 2.9)
        ]
    else:
        fore = (wrist - elbow) / max(abs(wrist - elbow), 1e-6)
        centre = wrist + 4.4 * s * fore
        n = fore * 1j
        curves = [
            (centre + s * (-1.2 * fore + k * n), centre + s * (2.6 * fore + k * n))
            for k in (-1.6, 0.2, 2.0)
        ]
    return [Shape(f"knuckles_{side}", tuple(stroke(np.array(c), 0.45 * s) for c in curves), line)]
