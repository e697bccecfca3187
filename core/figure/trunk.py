"""Trunk, neck and head from the side: a shirt over trousers as one smooth outline."""

import numpy as np

from core.figure.head import CROWN_ABOVE, HEAD_SIZE, HeadFrame, profile, shade_of
from core.figure.limbs import EDGE
from core.figure.people import Look
from core.figure.shapes import Shape, disc, smooth, tube
from core.figure.skeleton import Skeleton
from core.figure.solids import moved_out

BREATH = "breath"  # what the arrow would tell of someone who blows out: breath is drawn instead


def bend_at_hip(bones: Skeleton) -> float:
    """How far the nearer-to-the-chest thigh is flexed: 0 standing, 1 square to the trunk."""
    flexed = 0.0
    for side in ("near", "far"):
        thigh = bones[f"knee_{side}"] - bones[f"hip_{side}"]
        thigh = thigh / max(abs(thigh), 1e-6)
        along = (thigh * (-bones.trunk).conjugate()).real
        ahead = (thigh * bones.front.conjugate()).real
        if ahead > 0:
            flexed = max(flexed, float(np.degrees(np.arctan2(ahead, along)) / 90.0))
    return min(flexed, 1.4)


def pelvis(bones: Skeleton, look: Look) -> Shape:
    """The seat of the trousers."""
    s, hips = bones.scale, bones.hips
    g = 1.0 + 0.6 * (look.fullness - 1.0)
    thighs = sum((bones[f"knee_{side}"] - bones[f"hip_{side}"]) / 2 for side in ("near", "far"))
    thigh = thighs / max(abs(thighs), 1e-6)
    behind = -(bones.trunk + thigh) - 0.45 * bones.front
    behind = behind / max(abs(behind), 1e-6)
    seat = hips + (1.2 + 1.4 * min(bend_at_hip(bones), 1.0)) * s * behind
    return Shape(
        "pelvis",
        (disc(seat, 8.0 * g * s), disc(hips + 3.5 * s * bones.trunk, 8.6 * g * s)),
        look.trousers,
    )


def shirt(bones: Skeleton, look: Look) -> Shape:
    """The shirt, from the neck to below the waist."""
    s, g, bust = bones.scale, look.fullness, look.bust
    length = abs(bones.shoulders - bones.hips)
    bend = bend_at_hip(bones)

    def at(share: float, ahead: float) -> complex:
        return bones.hips + bones.trunk * share * length + bones.front * ahead * s

    belly = 9.4 * g
    hem_front = -0.10 + 0.20 * min(bend, 1.0)
    hem_back = -0.12 + 0.08 * min(bend, 1.0)
    outline = smooth(
        (
            at(hem_front, 8.6 * g),
            at(max(0.10, hem_front + 0.07), belly + 0.3),
            at(0.28, belly + 0.4),
            at(0.48, 9.0 * (0.6 + 0.4 * g)),
            at(0.70, 9.4 + bust),
            at(0.86, 8.4 + 0.4 * bust),
            at(0.99, 6.8),
            at(1.08, 5.4),
            at(1.135, 4.0),
            at(1.15, 0.0),
            at(1.145, -5.0),
            at(1.08, -7.0),
            at(0.99, -8.8),
            at(0.86, -9.8),
            at(0.66, -10.2 * (0.8 + 0.2 * g)),
            at(0.42, -8.8 * (0.7 + 0.3 * g)),
            at(0.20, -9.2 * (0.7 + 0.3 * g)),
            at(0.03, -10.4 * (0.5 + 0.5 * g)),
            at(hem_back, -10.3 * (0.5 + 0.5 * g)),
            at((hem_front + hem_back) / 2 - 0.015, -0.5),
        )
    )
    return Shape("shirt", (outline,), look.top)


def _arms_raised(bones: Skeleton) -> float:
    """0 to 1: how far the near wrist is above the shoulder; the head then comes forward."""
    raised = (bones["wrist_near"] - bones["shoulder_near"]) * bones.trunk.conjugate()
    return min(max((raised.real - 8.0) / 22.0, 0.0), 1.0)


def head_and_neck(bones: Skeleton, look: Look) -> tuple[list[Shape], list[Shape]]:
    """(neck, head). A head that lies on the floor rests on it instead of sinking in."""
    s = bones.scale
    up = bones["crown"] - bones["neck"]
    up = up / max(abs(up), 1e-6)
    face = bones.gaze / max(abs(bones.gaze), 1e-6)
    size = HEAD_SIZE * s
    middle = bones["crown"] - CROWN_ABOVE * size * up + (1.6 + 2.6 * _arms_raised(bones)) * s * face
    frame = HeadFrame(middle, face, up, size)
    blows = bones.tells == BREATH
    head = profile(look, frame, blows=blows)
    shift = moved_out((outline for shape in head for outline in shape.outlines), bones.props)
    if shift:
        frame = HeadFrame(middle + shift, face, up, size)
        head = profile(look, frame, blows=blows)
    base = bones.shoulders + bones.trunk * 1.5 * s - bones.front * 1.0 * s
    skull = complex(frame(np.array([-2.9 - 4.0j]))[0])
    neck = tube(
        base,
        skull,
        [(0.0, 5.6 * s), (0.5, 4.9 * s), (1.0, 5.0 * s)],
        [(0.0, 5.8 * s), (0.5, 4.8 * s), (1.0, 4.8 * s)],
    )
    return [Shape("neck", (neck,), shade_of(look.skin), "", EDGE)], head
