"""Demand: one number for a rung at a dial setting, by which rungs are ordered.

A repetition's intensities (:mod:`core.mechanics.statics`) become one number, the mean over time of
intensity to the power p, to the 1/p, with its pauses: so that holds, pulses and rest at the start
enter by themselves. It ranks rungs and sizes steps within a family; it does not promise
repetitions.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from core.client.client import KitAtHome
from core.mechanics.body import Body
from core.mechanics.pose import Reals
from core.mechanics.pose_input import PoseInput
from core.mechanics.posed import Posed
from core.mechanics.stances import STANCES
from core.mechanics.statics import EXPONENTS, MEASURES, USUAL_EXPONENT
from core.movements.catalogue import Rung, Setting
from core.movements.dials import (
    NOT_BARRED,
    SLOWER_ASKS_MORE,
    Barred,
    as_columns,
    dial_values,
    settings_of,
    surfaces_of,
)
from core.vocabulary import Family

MOMENTS = 9  # moments of a repetition, start to end
PULSE_SECONDS = 1.2
HOLD_ASKS_MORE = 1.1
"""Of the mean of a repetition, to the power p, at least: an added hold at its end (authored)."""

PULSED_FROM = 5  # pulses go over the moments from here to the end: the hard half

AUTHORED = "authored"  # measure of rungs that are placed, not weighed

UNWEIGHED = frozenset({Family.WARM_UP, Family.COOL_DOWN, Family.MOBILITY, Family.BREATHING})
"""Families whose order is authored: no step sizes, so no holes."""


@dataclass(frozen=True, slots=True, eq=False)
class Weighed:
    """A rung at all its settings: demand (NaN where refused) and why it was refused ("")."""

    rung: Rung
    settings: tuple[Setting, ...]
    demand: Reals
    refused: NDArray[np.str_]


@lru_cache(maxsize=4096)
def _dialled(rung: Rung, settings: tuple[Setting, ...]) -> Mapping[str, Reals]:
    return as_columns(dial_values(rung, list(settings)))


@lru_cache(maxsize=4096)
def _settings(rung: Rung, kit: KitAtHome, barred: Barred) -> tuple[Setting, ...]:
    return tuple(settings_of(rung, kit, barred))


def pose_input(
    body: Body,
    rung: Rung,
    kit: KitAtHome,
    settings: Sequence[Setting],
    progress: Reals,
    *,
    weighing: bool = False,
) -> PoseInput:
    """What the rung's pose function reads; ``progress`` from 0 to 1 is cut by the range dial."""
    columns = _dialled(rung, tuple(settings))
    along = progress * columns.get("range", np.ones((len(settings), 1)))
    return PoseInput(body, along, rung.pose, columns, surfaces_of(kit), weighing)


def weigh(body: Body, rung: Rung, kit: KitAtHome, barred: Barred = NOT_BARRED) -> Weighed:
    """Demand of every dial setting of a rung, but for barred ones, for one body with one kit."""
    return weigh_settings(body, rung, kit, _settings(rung, kit, barred))


TIME_DIALS = ("tempo", "pause", "pulses")
ALONG = np.linspace(0.0, 1.0, MOMENTS)


PAUSE_ASKS_MORE = 0.04
"""Of an authored effort, for each second that its end is held longer (ours)."""


def _authored_share(setting: Setting) -> float:
    """How much more than plain a setting of time asks where nothing is weighed."""
    turned = dict(setting)
    slower = SLOWER_ASKS_MORE[str(turned.get("tempo", "usual"))]
    return slower * (1.0 + PAUSE_ASKS_MORE * float(turned.get("pause", 0.0)))


def weigh_settings(body: Body, rung: Rung, kit: KitAtHome, settings: Sequence[Setting]) -> Weighed:
    """Demand of the given settings of a rung."""
    if rung.measure == AUTHORED or not settings:
        demand = np.array([rung.effort * _authored_share(setting) for setting in settings])
        return Weighed(rung, tuple(settings), demand, np.full(len(settings), ""))
    # Dials of time change nothing about the pose: each pose is placed once.
    shapes = [tuple(item for item in one if item[0] not in TIME_DIALS) for one in settings]
    places = {shape: place for place, shape in enumerate(dict.fromkeys(shapes))}
    progress = np.broadcast_to(ALONG, (len(places), MOMENTS))
    given = pose_input(body, rung, kit, tuple(places), progress, weighing=True)
    pose = STANCES[rung.stance](given)
    intensity = MEASURES[rung.measure](Posed(body, pose, given))
    intensity = np.maximum(np.broadcast_to(intensity, given.progress.shape), 0.0)
    rows = [places[shape] for shape in shapes]
    demand = over_repetition(rung, _dialled(rung, tuple(settings)), intensity[rows]) * rung.factor
    if "tempo" in rung.dials:
        words = dial_values(rung, list(settings))["tempo"]
        demand = demand * np.array([SLOWER_ASKS_MORE[str(word)] for word in words])
    refused = pose.refused[rows]
    demand = np.where(refused == "", demand, np.nan)
    return Weighed(rung, tuple(settings), demand, refused)


def over_repetition(rung: Rung, dials: Mapping[str, Reals], intensity: Reals) -> Reals:
    """One number a setting from intensities (settings, moments), start to end pose.

    Of ``dials``, columns (settings, 1), only those of time are read.
    """
    if rung.unit == "seconds":
        return intensity[:, -1]
    power = EXPONENTS.get(rung.measure, USUAL_EXPONENT)
    raised = intensity**power
    column = {name: dials[name][:, 0] for name in TIME_DIALS if name in dials}
    none = np.zeros(len(intensity))
    slower = column.get("tempo", none + 1.0)
    moving = (rung.tempo.out + rung.tempo.back) * slower
    there = rung.tempo.there
    pulses = PULSE_SECONDS * column.get("pulses", none)
    along = (raised[:, 1:] + raised[:, :-1]).mean(axis=1) / 2.0
    pulsed = raised[:, PULSED_FROM:].mean(axis=1)
    total = moving + there + pulses + rung.tempo.rest
    asked = moving * along + there * raised[:, -1] + pulses * pulsed
    asked = asked + rung.tempo.rest * raised[:, 0]
    # A longer hold is never easier, also where the movement is hardest on its way to the end.
    pause = column.get("pause", none)
    held = np.maximum(raised[:, -1], HOLD_ASKS_MORE * asked / total)
    return np.asarray(((asked + pause * held) / (total + pause)) ** (1.0 / power))
