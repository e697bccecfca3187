"""One client's ladder: the rungs and dial settings that this body can do with this kit.

Easy to hard by demand, neighbours at most 12 % apart where kit and dials allow. Equal demand is
never two steps: of settings that ask the same, the plainest stays. Beside them stand further loads:
weights at home that demand alone would never call for, for who is neither frail nor to be careful.
So do milder postures with the heaviest weight at home, by which a posture is reached with it.
"""

import math
from bisect import bisect_left, bisect_right
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import lru_cache
from operator import itemgetter
from typing import NamedTuple

import numpy as np

from core.client.care import is_careful, is_frail
from core.client.client import Client, KitAtHome
from core.client.steering import UNLIMITED, BodyLimits, Effects, Steering, cares_of, steering_of
from core.mechanics.body import Body, body_of
from core.movements.catalogue import Catalogue, DialValue, Rung, Setting
from core.movements.demand import UNWEIGHED, Weighed, weigh
from core.movements.dials import Barred, has_kit
from core.movements.posture import posture
from core.vocabulary import Family, Kit, Spare

LARGEST_STEP = 1.12
"""Ratio of demand to the next step above which there is a hole."""

SMALLEST_STEP = 1.025
"""Settings closer than this ask the same of a client; only the plainest of them is a step."""

FURTHER_LOAD = 1.05
"""Ratio of demand between further loads of one rung, the heaviest at home first (ours)."""


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
        further_load: a weight on the way up; no place to begin, nor counted for a first guess.
    """

    family: Family
    rung: str
    setting: Setting
    demand: float
    unit: str
    needs: tuple[Kit, ...]
    stresses: frozenset[Spare]
    hole_above: float | None = None
    further_load: bool = False

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


def may_offer(client: Client, rung: Rung, effects: Effects) -> bool:
    """Whether a rung suits this client: coach's limits, kit, and what facts leave out."""
    if rung.id in client.limits.forbidden or rung.id in effects.rungs:
        return False
    if rung.family in client.limits.skipped:
        return False
    if rung.family is Family.OVERHEAD and not client.limits.overhead_allowed:
        return False
    if rung.stresses & effects.stresses or rung.traits & effects.traits:
        return False
    return not effects.kit.intersection(rung.needs) and has_kit(client.kit, rung.needs)


def ladder(
    client: Client,
    family: Family,
    catalogue: Catalogue,
    today: date | None = None,
    steering: Steering | None = None,
) -> tuple[LadderStep, ...]:
    """The client's ladder of one family, easy to hard; empty where nothing fits.

    The coach's ceilings and floors are not applied here: dose and session do that.
    ``today`` is needed for ages and dates; without it the cautious answer is taken.

    Args:
        steering: what the client's facts add up to, where several ladders of one day are asked for.
    """
    steering = steering or steering_of(client, catalogue.steering, today)
    effects = steering.effects
    offered = tuple(rung for rung in catalogue.rungs(family) if may_offer(client, rung, effects))
    there = {rung.id for rung in offered}
    offered = tuple(rung for rung in offered if rung.stands_in_for not in there)
    preferred = steering.prefers & {rung.id for rung in offered}
    loads = bool(client.kit.bottle) and not is_frail(client)
    loads = loads and not is_careful(client, cares_of(client, catalogue.steering))
    wanted = Wanted(offered, effects.settings, effects.limits, preferred, loads)
    return _ladder(body_of(client), client.kit, wanted)


class Wanted(NamedTuple):
    """What a ladder is made of: rungs, barred settings, limits of the pose, preferred rungs.

    Attributes:
        loads: whether further loads stand beside the steps.
    """

    rungs: tuple[Rung, ...]
    barred: Barred
    limits: BodyLimits
    preferred: frozenset[str]
    loads: bool


@lru_cache(maxsize=8192)
def _ladder(body: Body, kit: KitAtHome, wanted: Wanted) -> tuple[LadderStep, ...]:
    """The ladder of rungs within limits; cached."""
    weighed = [weigh(body, rung, kit, wanted.barred) for rung in wanted.rungs]
    if wanted.limits != UNLIMITED:
        weighed = [within(body, kit, one, wanted.limits) for one in weighed]
    placeable = candidates(weighed)
    found = [one for one in placeable if not _is_on_the_way_up(one)]
    kept = thin(found, wanted.preferred)
    steps = [step_of(one) for one in kept]
    if wanted.loads:
        further = further_loads(found, kept)
        further.extend(with_the_heaviest(placeable, [*kept, *further]))
        steps.extend(replace(step_of(one), further_load=True) for one in further)
        steps.sort(key=lambda step: step.demand)
    return with_holes(steps)


def within(body: Body, kit: KitAtHome, weighed: Weighed, limits: BodyLimits) -> Weighed:
    """The same without the demand of settings whose pose goes beyond the limits."""
    if not weighed.settings:
        return weighed
    beyond = posture(body, weighed.rung, kit, weighed.settings).beyond(limits)
    return replace(weighed, demand=np.where(beyond, np.nan, weighed.demand))


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


def thin(found: Sequence[Candidate], preferred: frozenset[str] = frozenset()) -> list[Candidate]:
    """Few enough steps to climb: every rung's plainest setting, gaps filled from the others.

    Args:
        preferred: ids of rungs that stay where another asks the same.
    """
    kept: list[Candidate] = []
    plainest = _plainest_of_each_rung(found)
    for one in sorted(plainest, key=lambda c: c.rung.id not in preferred):
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


def further_loads(found: Sequence[Candidate], kept: Sequence[Candidate]) -> list[Candidate]:
    """Weights at home, of rungs that ``kept`` has at most plain; the heaviest first.

    They may ask about what another posture asks: how much is held is what a client climbs by.
    """
    heavy = {one.rung.id for one in kept if _is_heavier(one)}
    taken = {one.demand for one in kept}
    added: list[Candidate] = []
    for one in reversed(found):
        if one.turned != 1 or not _is_heavier(one) or one.rung.id in heavy:
            continue
        same = [other for other in (*kept, *added) if other.rung is one.rung]
        if one.demand not in taken and all(_ratio(one, other) >= FURTHER_LOAD for other in same):
            added.append(one)
    return added


def with_the_heaviest(found: Sequence[Candidate], kept: Sequence[Candidate]) -> list[Candidate]:
    """Postures of rungs that have a way up, each with the heaviest weight that is at home.

    The weight stays, and the posture gets harder: else a harder one would begin with less in the
    hand than was held before, or with nothing. Lighter weights are held in one of the postures.
    """
    heaviest: dict[str, float] = {}
    for one in found:
        if one.rung.way_up:
            heaviest[one.rung.id] = max(heaviest.get(one.rung.id, 0.0), _load(one))
    taken = {one.demand for one in kept}
    added: list[Candidate] = []
    for one in reversed(found):
        others = {name: value for name, value in one.setting if name != "load"}
        if one.rung.id not in heaviest or not {*others} <= {*one.rung.way_up}:
            continue
        if one.demand in taken:
            continue
        if _load(one) == heaviest[one.rung.id]:
            added.append(one)
        elif others and all(one.rung.way_up[name][0] == value for name, value in others.items()):
            same = [other for other in added if other.rung is one.rung and _alike(one, other)]
            if all(_ratio(one, other) >= FURTHER_LOAD for other in same):
                added.append(one)
    return added


def _alike(one: Candidate, other: Candidate) -> bool:
    """Whether two settings differ in the weight alone."""
    first, second = ({e for e in c.setting if e[0] != "load"} for c in (one, other))
    return first == second


def _is_on_the_way_up(one: Candidate) -> bool:
    """Whether a setting is no step by itself: only further loads have it."""
    return any(value in one.rung.way_up.get(name, ()) for name, value in one.setting)


def _is_heavier(one: Candidate) -> bool:
    """Whether more weight is held than in the plain setting of the rung."""
    return "load" in dict(one.setting) and _load(one) > float(one.rung.dials["load"][0])


def _load(one: Candidate) -> float:
    """Kilograms of the ``load`` dial."""
    return float(dict(one.setting).get("load", one.rung.dials["load"][0]))


def _plainest_of_each_rung(found: Sequence[Candidate]) -> list[Candidate]:
    best: dict[str, Candidate] = {}
    for one in found:
        held = best.get(one.rung.id)
        if held is None or one.turned < held.turned:
            best[one.rung.id] = one
    return sorted(best.values(), key=lambda c: (c.turned, c.place))


def _apart(one: Candidate, other: Candidate) -> bool:
    return _ratio(one, other) >= SMALLEST_STEP


def _ratio(one: Candidate, other: Candidate) -> float:
    low, high = sorted((one.demand, other.demand))
    return high / low


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
