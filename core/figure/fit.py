"""Small corrections of a skeleton so that stiff things fit: shoes, seats and steps.

Poses know joints, not the thickness of shoes and shins. What is soft is pressed flat later.
"""

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np

from core.figure.prop_sizes import DEPTHS
from core.figure.skeleton import PlacedProp, Skeleton
from core.mechanics.pose import SIDES, View, two_links

CALF = 7.0  # back of the calf behind the line from knee to ankle, cm
KEPT_SEAT = 5.0  # cm of seat that stays ahead of the hip joint of a sitter
INSTEP_TOE, INSTEP_BALL = 4.4, 6.0  # cm under the sole of a foot that lies on its instep
SHOE_AHEAD = 1.5  # cm of shoe beyond the toe


def fitted(found: Sequence[Skeleton]) -> list[Skeleton]:
    """The skeletons of a movement with feet and seats where they fit."""
    bones = [_feet_over_step(_on_insteps(b)) for b in _soles_down(found)]
    return _seat_behind_calves(bones)


FLOATS = 7.5  # cm: a flat sole this close over the floor in all moments stands on it


def _soles_down(found: Sequence[Skeleton]) -> list[Skeleton]:
    """Feet that straight legs leave hanging a little over the floor are put onto it."""
    bones = list(found)
    for side in SIDES if found[0].view is View.SIDE else ():
        heights = [(b[f"heel_{side}"].imag, b[f"toe_{side}"].imag) for b in found]
        flat = all(abs(heel - toe) < 1.0 and 0.0 < heel < FLOATS for heel, toe in heights)
        if not flat:
            continue
        for k, (heel, toe) in enumerate(heights):
            joints = dict(bones[k].joints)
            for name in ("ankle", "heel", "ball", "toe"):
                joints[f"{name}_{side}"] -= 1j * min(heel, toe)
            bones[k] = replace(bones[k], joints=joints)
    return bones


def _on_insteps(bones: Skeleton) -> Skeleton:
    """Turns a foot that lies on its instep about the ankle until the shoe is above the floor."""
    joints = dict(bones.joints)
    for side in SIDES:
        ankle, heel, ball, toe = (joints[f"{n}_{side}"] for n in ("ankle", "heel", "ball", "toe"))
        along = (ball - heel) / max(abs(ball - heel), 1e-6)
        if bones.view is View.FRONT or ((ankle - heel) * (along * 1j).conjugate()).real < 0:
            continue
        if (along * 1j).imag > -0.3:
            continue
        turned = [
            ankle + (np.array([heel, ball, toe]) - ankle) * np.exp(-1j * angle)
            for angle in np.radians(np.arange(0.0, 70.0, 2.0))
        ]
        need = np.array([-99.0, INSTEP_BALL, INSTEP_TOE]) * bones.scale
        fit = next((t for t in turned if np.all(t.imag >= need)), turned[-1])
        for name, point in zip(("heel", "ball", "toe"), fit, strict=True):
            joints[f"{name}_{side}"] = complex(point)
    return replace(bones, joints=joints)


def _feet_over_step(bones: Skeleton) -> Skeleton:
    """Lifts a foot that would pass through a step, and lets the knee follow."""
    step = bones.prop("step")
    if step is None:
        return bones
    joints = dict(bones.joints)
    for side in SIDES:
        lift = _below_tread(step, [joints[f"{n}_{side}"] for n in ("heel", "ball", "toe")])
        if lift <= 0.0:
            continue
        for name in ("ankle", "heel", "ball", "toe"):
            joints[f"{name}_{side}"] += 1j * lift
        hip, knee, ankle = (bones[f"{n}_{side}"] for n in ("hip", "knee", "ankle"))
        found, _ = two_links(
            np.asarray(hip), np.asarray(ankle + 1j * lift), abs(knee - hip), abs(ankle - knee), 1
        )
        joints[f"knee_{side}"] = complex(found)
    return replace(bones, joints=joints)


def _below_tread(step: PlacedProp, sole: Sequence[complex]) -> float:
    """How far the part of a sole that is over a step lies under its tread, cm."""
    line = np.concatenate(
        [np.linspace(a, b, 8) for a, b in pairwise(sole)] + [[sole[-1] + SHOE_AHEAD]]
    )
    ahead = (line.real - step.at.real) * step.facing
    over = (ahead > 0.0) & (ahead < DEPTHS["step"])
    return float(np.max(step.at.imag - line.imag[over])) if over.any() else 0.0


def _seat_behind_calves(found: list[Skeleton]) -> list[Skeleton]:
    """Moves a sitter's chair back until its front edge is behind the calves at all moments."""
    chair = found[0].prop("chair")
    if chair is None or chair.facing > 0 or found[0].view is View.FRONT:
        return found
    cushion = found[0].prop("cushion")
    top = chair.at.imag if cushion is None else cushion.at.imag
    room = min(_calf_back(b, side, chair.at.imag, top) for b in found for side in SIDES)
    lowest = min(found, key=lambda b: b.hips.imag)
    edge = max(min(chair.at.real, room), lowest.hips.real + KEPT_SEAT)
    shift = edge - chair.at.real
    return [
        replace(
            b,
            props=tuple(
                replace(p, at=p.at + shift) if p.kind in ("chair", "cushion") else p
                for p in b.props
            ),
        )
        for b in found
    ]


def _calf_back(bones: Skeleton, side: str, low: float, high: float) -> float:
    """x of the back of a leg beside the seat, cm; far ahead where the leg is nowhere there.

    The thigh of a sitter lies on the seat and does not count.
    """
    hip, knee, ankle = (bones[f"{n}_{side}"] for n in ("hip", "knee", "ankle"))
    line = np.linspace(knee, ankle, 16)
    if (hip - knee).imag > 0.8 * abs(hip - knee):
        line = np.concatenate([np.linspace(hip, knee, 16), line])
    beside = line[(line.imag > low - 6.0) & (line.imag < high + 3.0)]
    return float(beside.real.min()) - CALF * bones.scale if beside.size else 1e4
