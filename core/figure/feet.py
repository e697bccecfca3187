"""Where the feet stand, seen from above: what a position to balance in is about."""

import numpy as np

from core.figure.limbs import SOLE, darker
from core.figure.people import Look
from core.figure.scene import Scene
from core.figure.shapes import Outline, Shape, box, mixed, open_curve, oval, smooth, stroke
from core.figure.skeleton import REFERENCE_STATURE, Skeleton
from core.mechanics.pose import SIDES, View

STANDING = ("stand", "front_stand")
SHOE_LONG, SHOE_WIDE = 20.0, 10.4  # cm at 165 cm stature: shoes nearer than this would overlap

_SHOE = (
    -13.2j, 3.6 - 12.6j, 4.3 - 8.0j, 3.9 - 2.0j, 4.9 + 4.0j, 5.1 + 8.6j, 3.6 + 12.6j, 0.4 + 14.0j,
    -2.4 + 12.6j, -4.1 + 8.0j, -4.0 + 2.0j, -3.6 - 4.0j, -4.0 - 9.0j, -3.4 - 12.6j,
)  # fmt: skip


def stands(bones: Skeleton, scene: Scene) -> bool:
    """Whether feet seen from above say more than a second picture of the same position."""
    high = max(bones[f"ankle_{side}"].imag for side in SIDES)
    return scene.rung.stance in STANDING and high < 14.0 * bones.scale


def soles_from_above(bones: Skeleton, scene: Scene) -> list[Shape]:
    """Both shoes from above, toes up, in cm; the middle between them is at 0."""
    places = {side: _place(bones, scene, side) for side in SIDES}
    apart = places["near"] - places["far"]
    if abs(apart.imag) < SHOE_LONG * bones.scale and abs(apart.real) < SHOE_WIDE * bones.scale:
        # Shoes are wider than what the pose counts as the width of a stance.
        spread = (SHOE_WIDE * bones.scale - abs(apart.real)) / 2
        way = 1 if apart.real >= 0 else -1
        places = {"near": places["near"] + way * spread, "far": places["far"] - way * spread}
    middle = sum(places.values()) / 2
    shapes: list[Shape] = []
    if bones.prop("pad"):
        shapes.append(Shape("pad", (box(-26.0, 26.0, -30.0, 30.0, 3.0),), "#7d94b5"))
    for side in sorted(SIDES, key=lambda side: places[side].imag):
        mirror = 1 if places[side].real >= middle.real else -1
        shapes += _shoe(places[side] - middle, mirror, scene.look, bones.scale)
    return shapes


def _place(bones: Skeleton, scene: Scene, side: str) -> complex:
    """Middle of a foot: x to the person's right, y to where she faces, cm."""
    middle = (bones[f"heel_{side}"] + bones[f"toe_{side}"]) / 2
    if bones.view is View.FRONT:
        return -bones[f"ankle_{side}"].real + 0j
    apart = scene.rung.pose.get("base_side", 0.03)
    aside = 100.0 * float(apart if isinstance(apart, (int, float)) else 0.03)
    return (
        1 if side == "near" else -1
    ) * aside * REFERENCE_STATURE / 100.0 * bones.scale + 1j * middle.real


def _shoe(at: complex, mirror: int, look: Look, scale: float) -> list[Shape]:
    def placed(outline: Outline, size: float = 1.0) -> Outline:
        return np.asarray(at + scale * size * (mirror * outline.real + 1j * outline.imag))

    form = smooth(_SHOE)
    laces = tuple(
        placed(stroke(open_curve((-1.7 + y * 1j, y * 1j + 0.5j, 1.7 + y * 1j), 3), 0.8))
        for y in (0.6, 2.8, 5.0)
    )
    return [
        Shape("sole", (placed(form),), darker(look.shoes, SOLE)),
        Shape("shoe", (placed(form, 0.93),), look.shoes),
        Shape("shoe", (placed(oval(-5.6j, 5.2, 2.9, 1j)),), darker(look.shoes, SOLE)),
        Shape("sock", (placed(oval(-5.4j, 4.4, 2.3, 1j)),), mixed(look.skin, "#ffffff", 0.6)),
        Shape("lace", laces, mixed(look.shoes, "#ffffff", 0.55)),
    ]
