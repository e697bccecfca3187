"""One client's ladder: the rungs and dial settings that this body can do with this kit.

Easy to hard by demand, neighbours at most 12 % apart where kit and dials allow. Equal demand is
never two steps: of settings that ask the same, the plainest stays.
"""

import math
from bisect import bisect_left, bisect_right
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from functools import lru_cache
from operator import itemgetter
from typing import NamedTuple

from core.client.client import Client, KitAtHome
from core.client.operations import Place
from core.mechanics.body import Body, body_of
from core.movements.catalogue import Catalogue, DialValue, Rung, Setting
from core.movements.demand import UNWEIGHED, Weighed, weigh
from core.movements.dials import has_kit
from core.vocabulary import Condition, Family, Kit, Spare

LARGEST_STEP = 1.12
"""Ratio of demand to the next step above which there is a hole."""

SMALLEST_STEP = 1.025
"""Settings closer than this ask the same of a client; only the plainest of them is a step."""

PACEMAKER_HEALS = timedelta(weeks=6)
HEART_DEVICES = frozenset({Condition.PACEMAKER, Condition.DEFIBRILLATOR})

SPARED_BY_CONDITION: Mapping[Condition, frozenset[Spare]] = {
    Condition.GLAUCOMA: frozenset({Spare.HEAD_DOWN}),
}
"""Positions that a condition rules out whatever the client says."""


@dataclass(frozen=True, slots=True)
class LadderStep:
    """One place on a client's ladder.

    Attributes:
        rung: id of the rung, unique in the catalogue.
        setting: the dials that are not at their plain value, sorted by name; hashable.
        demand: one number over the repetition, > 0, comparable within the family only.
        unit: "reps" or "seconds".
        needs: kit it needs.
        hole_above: ratio of the next step's demand where that is over ``LARGEST_STEP``.
    """

    family: Family
    rung: str
    setting: Setting
    demand: float
    unit: str
    needs: tuple[Kit, ...]
    stresses: frozenset[Spare]
    hole_above: float | None = None

    @property
    def dial(self) -> Mapping[str, DialValue]:
        """Dial settings by name, in name order."""
        return dict(self.setting)

    @property
    def key(self) -> str:
        """The stable text that is stored: "rung" or "rung@dial=value,dial=value"."""
        return key_of(self.rung, self.setting)


def key_of(rung: str, setting: Setting) -> str:
    """The stable text of a rung with its dial settings."""
    turned = [
        f"{name}={value}" if isinstance(value, str) else f"{name}={value:g}"
        for name, value in setting
    ]
    return f"{rung}@{','.join(turned)}" if turned else rung


def protected_positions(client: Client, today: date | None = None) -> frozenset[Spare]:
    """Everything to spare: said, implied by the floor, and by conditions.

    A pacemaker less than six weeks old, or of unknown date, keeps that arm below the shoulder;
    without ``today`` its age is unknown.
    """
    spared = client.protected
    for condition in client.conditions:
        spared |= SPARED_BY_CONDITION.get(condition, frozenset())
    if client.conditions & HEART_DEVICES:
        known = today is not None and client.pacemaker_on is not None
        if not known or today - client.pacemaker_on < PACEMAKER_HEALS:  # type: ignore[operator] # known
            spared |= {Spare.OVERHEAD}
    return spared


def may_offer(client: Client, rung: Rung, today: date | None = None) -> bool:
    """Whether a rung suits this client: coach's limits, kit, spares, conditions, operations."""
    if rung.id in client.limits.forbidden:
        return False
    if rung.family is Family.OVERHEAD and not client.limits.overhead_allowed:
        return False
    if rung.stresses & protected_positions(client, today) or rung.not_for & client.conditions:
        return False
    if rung.not_for_replaced and client.is_careful_at(Place(rung.not_for_replaced)):
        return False
    if "support" not in rung.dials and rung.support_for & client.conditions:
        return False
    return has_kit(client.kit, rung.needs)


def ladder(
    client: Client, family: Family, catalogue: Catalogue, today: date | None = None
) -> tuple[LadderStep, ...]:
    """The client's ladder of one family, easy to hard; empty where nothing fits.

    The coach's ceilings and floors are not applied here: dose and session do that.
    ``today`` is only needed for the age of a pacemaker; without it the cautious answer is taken.
    """
    offered = tuple(
        (rung, bool(rung.support_for & client.conditions))
        for rung in catalogue.rungs(family)
        if may_offer(client, rung, today)
    )
    return _ladder(body_of(client), client.kit, offered)


@lru_cache(maxsize=8192)
def _ladder(
    body: Body, kit: KitAtHome, offered: tuple[tuple[Rung, bool], ...]
) -> tuple[LadderStep, ...]:
    """The ladder of rungs, each with whether it may only be done with a hand-hold; cached."""
    weighed = [weigh(body, rung, kit, no_free_hands=held) for rung, held in offered]
    return with_holes([step_of(one) for one in thin(candidates(weighed))])


class Candidate(NamedTuple):
    """A setting that could be a step; sorts by demand, then dials turned, then authored place."""

    demand: float
    turned: int
    place: int
    setting: Setting
    rung: Rung


def candidates(weighed: Sequence[Weighed]) -> list[Candidate]:
    """Every placeable setting of the weighed rungs, easy to hard."""
    found = [
        Candidate(demand, len(setting), one.rung.place, setting, one.rung)
        for one in weighed
        for setting, demand in zip(one.settings, one.demand.tolist(), strict=True)
        if demand > 0.0  # not so for NaN: a pose that was refused
    ]
    # Ties keep the authored order of rungs and dial values: sorting is stable.
    return sorted(found, key=itemgetter(0, 1, 2))


def thin(found: Sequence[Candidate]) -> list[Candidate]:
    """Few enough steps to climb: every rung's plainest setting, gaps filled from the others."""
    kept: list[Candidate] = []
    for one in _plainest_of_each_rung(found):
        if all(_apart(one, other) for other in kept):
            kept.append(one)
    kept.sort(key=lambda c: c.demand)
    demands = [c.demand for c in found]
    filled: list[Candidate] = []
    if kept and _apart(found[0], kept[0]):
        filled.append(found[0])
    for one in kept:
        if filled:
            filled.extend(_between(found, demands, filled[-1], one.demand))
        filled.append(one)
    if filled:
        filled.extend(_between(found, demands, filled[-1], math.inf))
    return filled


def _plainest_of_each_rung(found: Sequence[Candidate]) -> list[Candidate]:
    best: dict[str, Candidate] = {}
    for one in found:
        held = best.get(one.rung.id)
        if held is None or one.turned < held.turned:
            best[one.rung.id] = one
    return sorted(best.values(), key=lambda c: (c.turned, c.place))


def _apart(one: Candidate, other: Candidate) -> bool:
    low, high = sorted((one.demand, other.demand))
    return high >= low * SMALLEST_STEP


def _between(
    found: Sequence[Candidate], demands: Sequence[float], low: Candidate, top: float
) -> list[Candidate]:
    """Steps from ``low`` to under ``top``, each as far up as one step may go."""
    added: list[Candidate] = []
    at = low
    end = bisect_right(demands, top / SMALLEST_STEP)
    while top > at.demand * LARGEST_STEP:
        start = bisect_left(demands, at.demand * SMALLEST_STEP)
        if start >= end:
            break
        within = bisect_right(demands, at.demand * LARGEST_STEP, start, end)
        below = at
        if within > start:
            at = max(found[start:within], key=lambda c: _worth(c, below))
        else:
            at = found[start]
        added.append(at)
    return added


def _worth(one: Candidate, below: Candidate) -> float:
    """A long step, few dials turned, and staying on the same rung are worth something."""
    same = 0.02 if one.rung is below.rung else 0.0
    return math.log(one.demand / below.demand) - 0.02 * one.turned + same


def step_of(one: Candidate) -> LadderStep:
    """A candidate as a step of the ladder."""
    rung = one.rung
    return LadderStep(
        rung.family, rung.id, one.setting, one.demand, rung.unit, rung.needs, rung.stresses
    )


def with_holes(steps: Sequence[LadderStep]) -> tuple[LadderStep, ...]:
    """The steps with the ratio to the next noted where it is over ``LARGEST_STEP``."""
    found = []
    for index, one in enumerate(steps):
        above = steps[index + 1] if index + 1 < len(steps) else None
        ratio = above.demand / one.demand if above else 0.0
        weighed = one.family not in UNWEIGHED
        hole = ratio if weighed and ratio > LARGEST_STEP + 1e-9 else None
        found.append(replace(one, hole_above=hole))
    return tuple(found)
