"""From a pose to the shapes of a picture: a person among things, in centimetres, without pixels.

Shapes come in drawing order. Body outlines are kept out of the floor and of solid props the way
soft tissue is: pressed flat where they touch.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace

from core.figure.contact import Grip, Hand, touching
from core.figure.front import front_person
from core.figure.limbs import arm, leg
from core.figure.people import Look
from core.figure.props import band, bottle, bottle_from_end, furniture, rail
from core.figure.shapes import Shape, lowest_of
from core.figure.skeleton import Skeleton
from core.figure.solids import kept_out
from core.figure.trunk import head_and_neck, pelvis, shirt
from core.mechanics.pose import View

UNDER_PALM = 6.0  # middle of a bottle that lies under a resting hand, from the wrist, cm
HAND_RAISED = 5.0  # wrist above the shoulder from which the arm is drawn behind the face, cm
FACE_NEAR = 19.0  # a hand this near to the face is drawn behind it, cm
FAR_AHEAD = 2.4  # the far limbs are drawn this much ahead of the near ones, cm


@dataclass(frozen=True, slots=True)
class Figure:
    """One moment, drawn.

    Attributes:
        room: furniture, behind the person.
        person: body and what it holds, in drawing order.
        bones: the skeleton after hands were set on what they touch.
        pressed: how deep each part would have sunk into floor or props, cm, had it not been
            pressed flat there.
    """

    room: tuple[Shape, ...]
    person: tuple[Shape, ...]
    bones: Skeleton
    pressed: Mapping[str, float]


def drawn(placed: Skeleton, look: Look) -> Figure:
    """The shapes of a skeleton."""
    bones, grips = touching(placed)
    room = [
        shape
        for prop in sorted(bones.props, key=lambda prop: prop.kind not in ("wall", "wall_beside"))
        for shape in furniture(prop)
    ]
    if bones.view is View.FRONT:
        person = front_person(bones, look, grips, _bands(bones))
    else:
        person = _side_person(bones, look, grips)
    kept, pressed = kept_out(person, bones)
    return Figure(tuple(room), tuple(kept), bones, pressed)


def _side_person(bones: Skeleton, look: Look, grips: dict[str, Grip]) -> list[Shape]:
    neck, head = head_and_neck(bones, look)
    far_shift = FAR_AHEAD * bones.scale
    behind = _behind_face(bones, grips["near"])
    far_arm = [
        s.moved(_arm_shift(grips["far"], far_shift)) for s in _arm(bones, look, "far", grips)
    ]
    far_leg = [s.moved(far_shift) for s in leg(bones, look, "far")]
    return [
        *_rails(bones, near=False),
        *far_arm,
        *far_leg,
        *neck,
        pelvis(bones, look),
        *leg(bones, look, "near"),
        shirt(bones, look),
        *(() if behind else head),
        *_bands(bones),
        *_rails(bones, near=True),
        *_arm(bones, look, "near", grips),
        *(head if behind else ()),
    ]


def _behind_face(bones: Skeleton, grip: Grip) -> bool:
    """Whether the near arm is drawn behind the head, so that the face stays in view.

    So is an arm that goes up, a hand on a wall before the face and a hand beside it.
    """
    raised = (bones["wrist_near"] - bones["shoulder_near"]) * bones.trunk.conjugate()
    hand = bones["wrist_near"] + 5.0 * bones.scale * grip.way
    return (
        raised.real > HAND_RAISED * bones.scale
        or grip.hand in (Hand.WALL, Hand.FINGERTIPS)
        or abs(hand - _face_of(bones)) < FACE_NEAR * bones.scale
    )


def _face_of(bones: Skeleton) -> complex:
    """About the middle of the face in profile."""
    return (bones["crown"] + bones["neck"]) / 2 + 4.0 * bones.scale * bones.gaze


def _arm_shift(grip: Grip, shift: float) -> complex:
    """Hands beside each other on a wall differ in height, elsewhere in distance."""
    return 0.9j * shift if grip.hand in (Hand.WALL, Hand.FINGERTIPS) else shift + 0j


def _arm(bones: Skeleton, look: Look, side: str, grips: dict[str, Grip]) -> list[Shape]:
    """An arm, with the bottle under its fist."""
    shapes = arm(bones, look, side, grips[side])
    kilograms = bones.holding[side]
    if kilograms <= 0.0 or grips[side].hand not in (Hand.FIST, Hand.RESTING):
        return shapes
    wrist, elbow = bones[f"wrist_{side}"], bones[f"elbow_{side}"]
    fore = (wrist - elbow) / max(abs(wrist - elbow), 1e-6)
    if side in bones.resting:
        below = bones.scale * (3.0 * grips[side].way - UNDER_PALM * bones.front)
        held = bottle_from_end(wrist + below, kilograms)
    else:
        held = bottle(wrist + 4.6 * bones.scale * fore, kilograms, fore * 1j)
    under = min(0.0, lowest_of(held))
    return [*(replace(shape.moved(-1j * under), part=f"bottle_{side}") for shape in held), *shapes]


def _rails(bones: Skeleton, *, near: bool) -> list[Shape]:
    return [
        shape
        for prop in bones.props
        if prop.kind == "rail" and prop.to is not None and (prop.facing > 0) is near
        for shape in rail(prop.at, prop.to, near=near)
    ]


def _bands(bones: Skeleton) -> list[Shape]:
    return [
        shape
        for prop in bones.props
        if prop.kind == "band" and prop.to is not None
        for shape in band(prop.at, prop.to)
    ]
