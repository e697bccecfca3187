"""Arrows that go round: a head or trunk that turns, shoulders that roll."""

from collections.abc import Sequence

import numpy as np

from core.figure.shapes import Outline
from core.figure.skeleton import Skeleton

ROLL = "roll"
TURNED = 0.15  # radians: less is no turn
RING = (17.0, 5.5)  # half width and half height of the ring above a head that turns, cm
ABOVE_CROWN = 13.0  # middle of that ring above the crown, cm
ROLL_RADIUS = 12.0  # cm around the shoulder joint


def round_way(bones: Sequence[Skeleton]) -> Outline | None:
    """The way of an arrow that goes round; ``None`` where nothing turns or rolls.

    Turning is shown as the front of a ring above the head, in the sense in which the face moves.
    """
    first, last = bones[0], bones[-1]
    if first.tells == ROLL:
        # Forward, up and back: for a face to +x that is against the clock.
        angles = np.radians(np.linspace(-35.0, 215.0, 40))
        middle = last["shoulder_near"] - 5.0 * last.scale * last.trunk
        return np.asarray(middle + ROLL_RADIUS * last.scale * np.exp(1j * angles))
    turn = last.turn - first.turn
    if abs(turn) < TURNED:
        return None
    angles = np.radians(np.linspace(200.0, 340.0, 30))
    ring = RING[0] * np.cos(angles) + 1j * RING[1] * np.sin(angles)
    if turn < 0.0:
        ring = -ring.conjugate()
    return np.asarray(last["crown"] + last.scale * (ABOVE_CROWN * 1j + ring))
