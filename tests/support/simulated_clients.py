"""Invented clients for measuring doses: bodies, days, perception and training, all drawn at random.

The world knows each client's true capacity and day; policies see only what a client tells. Every
constant is a parameter, so that a policy can also be measured where the world is not as it thinks.
Constants are our own choice for novices of 55 to 85, except where a source stands beside them.
"""

import itertools
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from typing import Any, Protocol

import numpy as np

from core.dose.history import Ended
from core.movements.ladder import LadderStep
from core.readiness.morning_questions import IllKind, Morning, MorningItem
from core.vocabulary import Family
from tests.support.simulated_worlds import World

FAMILIES = (Family.SQUAT, Family.PUSH, Family.PULL, Family.HINGE)
FIRST_MONDAY = date(2026, 1, 5)
TRAINING_WEEKDAYS = (0, 2, 4)


@dataclass
class Person:
    """One invented client: what is true of her, known to nobody."""

    ladders: Mapping[Family, tuple[LadderStep, ...]]
    log_capacity: dict[Family, float]
    start: Mapping[Family, float]
    reps_rate: float
    told_floor: float
    gain: float
    misfit: Mapping[str, float]
    world: World
    last_done: dict[Family, int] = field(default_factory=dict)
    sets_told: int = 0


@dataclass(frozen=True)
class Plan:
    """What a policy asks for: a step, repetitions, when to stop, and whether it counts."""

    step: LadderStep
    reps: int
    stop_at_left: int | None
    counts: bool = True
    aim_left: tuple[int, int] = (1, 3)
    calibration: bool = False


@dataclass(frozen=True)
class Outcome:
    """One set as it truly was, and as it was told."""

    day: int
    family: Family
    demand: float
    reps: int
    told_left: int
    slip: bool
    pain: int
    true_left: int
    failed: bool
    bad_day: bool
    counts: bool
    first_of_session: bool
    ended: Ended
    told_ended: Ended | None
    aim_left: tuple[int, int]
    calibration: bool


class Policy(Protocol):
    """Chooses sets; sees only mornings and what the client tells. The oracle sees ``truth``."""

    def start(self, person: Person) -> None:
        """A new client."""

    def morning(self, on: date, answers: Morning | None) -> bool:
        """A new day; returns whether to train if it is a training day."""

    def choose(self, family: Family, truth: float, set_index: int) -> Plan:
        """The next set. ``truth`` is log capacity now, for oracles only."""

    def told(self, family: Family, outcome: Outcome) -> None:
        """What the client told of the set."""


def make_ladder(world: World, family: Family, rng: np.random.Generator) -> tuple[LadderStep, ...]:
    """A ladder over a tenfold range of demand with uneven steps and a few holes."""
    steps: list[LadderStep] = []
    demand = 0.12
    while demand < world.ladder_top:
        main = not len(steps) % 5
        setting = () if main else (("dial", float(len(steps) % 5)),)
        rung = f"{family.value}_{len(steps) // 5}"
        steps.append(LadderStep(family, rung, setting, demand, "reps", (), frozenset()))
        ratio = 1.0 + rng.uniform(*world.ladder_step)
        demand *= 1.22 if rng.random() < world.holes else ratio
    marked = [
        replace(low, hole_above=high.demand / low.demand)
        if high.demand > 1.12 * low.demand
        else low
        for low, high in itertools.pairwise(steps)
    ]
    return (*marked, steps[-1])


def typical_start(ladder: Sequence[LadderStep]) -> float:
    """Log capacity of a typical novice on a ladder; one that ends early has lost its top."""
    top = ladder[-1].demand if ladder[-1].demand > _LOW_TOP else _USUAL_TOP
    low, high = math.log(ladder[0].demand), math.log(top)
    return low + 0.35 * (high - low) + math.log1p(0.030 * 15.0)


def make_person(world: World, rng: np.random.Generator) -> Person:
    """Draw one client."""
    ladders = {family: make_ladder(world, family, rng) for family in FAMILIES}
    shared = rng.normal() * world.start_sd * math.sqrt(world.correlation)
    own_sd = world.start_sd * math.sqrt(1 - world.correlation)
    capacity = {
        family: typical_start(ladders[family]) + world.start_bias + shared + rng.normal() * own_sd
        for family in FAMILIES
    }
    return Person(
        ladders=ladders,
        log_capacity=capacity,
        start=dict(capacity),
        reps_rate=world.reps_rate * math.exp(rng.normal() * world.reps_rate_spread),
        told_floor=world.told_floor + rng.normal() * world.told_spread,
        gain=world.gain * math.exp(rng.normal() * world.gain_spread),
        misfit=_misfits(world, ladders, rng),
        world=world,
    )


def _misfits(
    world: World, ladders: Mapping[Family, Sequence[LadderStep]], rng: np.random.Generator
) -> dict[str, float]:
    """How far each step's true demand is from the ladder's: most of it shared by its rung."""
    found: dict[str, float] = {}
    for ladder in ladders.values():
        rungs = {step.rung: rng.normal() * world.demand_misfit for step in ladder}
        for step in ladder:
            found[step.key] = rungs[step.rung] + 0.4 * rng.normal() * world.demand_misfit
    return found


def most_reps(world: World, person: Person, room: float) -> float:
    """Repetitions to failure at a log (capacity / demand)."""
    if room <= 0:
        return 0.0
    if world.exponent != 1.0:
        return 10.0 * (math.expm1(room) / person.reps_rate / 10.0) ** world.exponent
    if world.curve == "power":
        # Meets the log1p curve at ten repetitions, steeper below and flatter above.
        at_ten = math.log1p(person.reps_rate * 10.0)
        return 10.0 * (room / at_ten) ** 1.25
    if world.curve == "exponential":
        # Wathan: share of capacity = (48.8 + 53.8 e^(-.075 r)) / 100.
        share = math.exp(-room)
        inner = (share * 100.0 - 48.8) / 53.8
        return 60.0 if inner <= 0.011 else -math.log(inner) / 0.075
    return math.expm1(room) / person.reps_rate


def do_set(
    world: World,
    person: Person,
    plan: Plan,
    room: float,
    rng: np.random.Generator,
    day: int = 0,
) -> tuple[int, int, int, Ended]:
    """Repetitions done, left told, truly left, and how the set ended."""
    most = most_reps(world, person, room)
    practice = math.exp(-person.sets_told / world.practice_sets)
    stretch = 1.0 + world.told_stretch + world.told_practice * practice
    error = rng.normal()
    floor = person.told_floor + world.told_drift * day

    def feels(reps: int) -> float:
        left = most - reps - 0.5
        noise = error * (world.told_noise + world.told_noise_each * max(left, 0.0))
        return (left - floor) / stretch + noise

    obeys = plan.stop_at_left is not None and rng.random() < world.obeys
    stop_error = rng.normal() * world.stop_noise if world.stop_bias is not None else 0.0

    def time_to_stop(reps: int, stop_at: int) -> bool:
        if world.stop_bias is None:
            return feels(reps) < stop_at + 0.5
        return most - reps - 0.5 - world.stop_bias + stop_error < stop_at + 0.5

    possible = math.floor(most)
    ended, done = Ended.AS_PLANNED, plan.reps
    for reps in range(1, plan.reps + 1):
        if reps > possible:
            return possible, 0, 0, Ended.COULD_NOT
        if obeys and plan.stop_at_left is not None and time_to_stop(reps, plan.stop_at_left):
            ended = Ended.AS_PLANNED if reps == plan.reps else Ended.TOLD_TO_STOP
            done = reps
            break
    felt = min(5, max(0, round(feels(done))))
    told = {"felt": felt, "copied": sum(plan.aim_left) // 2, "same": 2}[world.tells]
    if ended is Ended.TOLD_TO_STOP and world.nothing_after_stop:
        told = 0
    return done, told, possible - done, ended


def train(world: World, person: Person, family: Family, best_left: float, failed: bool) -> None:
    """What a session does to capacity: most when a few were left, little when far from tired."""
    closeness = 1.0 if best_left <= 3 else math.exp(-(best_left - 3.0) / 3.0)
    if failed:
        closeness *= 0.7
    gained = person.log_capacity[family] - person.start[family]
    person.log_capacity[family] += person.gain * closeness * max(0.0, 1 - gained / world.level_off)


@dataclass
class _Days:
    """The days of one client: wellbeing, illness, holidays."""

    world: World
    rng: np.random.Generator
    wellbeing: float = 0.0
    ill_left: int = 0
    away_left: int = 0

    def next(self, day: int) -> tuple[float, Morning | None, bool, bool]:
        """Offset of log capacity, the morning's answers, whether ill, whether away."""
        world, rng = self.world, self.rng
        self.wellbeing = 0.4 * self.wellbeing + rng.normal() * math.sqrt(1 - 0.16)
        self.ill_left = max(0, self.ill_left - 1)
        self.away_left = max(0, self.away_left - 1)
        if not self.ill_left and rng.random() < world.ill_a_day:
            self.ill_left = int(rng.integers(4, 9))
        if not self.away_left and rng.random() < 0.004:
            self.away_left = int(rng.integers(7, 21))
        ill, away = self.ill_left > 0, self.away_left > 0
        offset = world.day_seen * self.wellbeing + rng.normal() * world.day_unseen
        if ill:
            offset += world.ill_shift
        on = FIRST_MONDAY + timedelta(days=day)
        if away or rng.random() < world.missed_morning:
            return offset, None, ill, away
        felt = self.wellbeing - (1.2 if ill else 0.0)
        items: dict[str, Any] = {
            item.value: int(np.clip(round(3.7 + 0.45 * felt + 0.6 * rng.normal()), 1, 5))
            for item in MorningItem
        }
        kind = IllKind.ABOVE_NECK if ill else IllKind.NONE
        return offset, Morning(on=on, ill=kind, **items), ill, away


_LOW_TOP = 0.9
_USUAL_TOP = 1.15

BAD_DAY = -0.06
"""A truly bad day: log capacity at least this much under usual."""


def live(world: World, policy: Policy, seed: int, days: int = 180) -> tuple[list[Outcome], float]:
    """One client's half year under a policy: all sets, and the share of capacity gained."""
    rng = np.random.default_rng(seed)
    world = world.for_client(rng)
    person = make_person(world, rng)
    calendar = _Days(world, np.random.default_rng(seed + 1_000_003))
    policy.start(person)
    outcomes: list[Outcome] = []
    for day in range(days):
        on = FIRST_MONDAY + timedelta(days=day)
        offset, answers, ill, away = calendar.next(day)
        for family in FAMILIES:
            person.log_capacity[family] += rng.normal() * world.wander
            idle = day - person.last_done.get(family, day)
            if idle > 14:
                person.log_capacity[family] -= 0.003
        wants = policy.morning(on, answers)
        comes = day % 7 in TRAINING_WEEKDAYS and rng.random() > world.missed_session
        if not comes or not wants or away or (ill and rng.random() < 0.5):
            continue
        outcomes += _session(world, person, policy, day, offset, rng)
    gains = [math.exp(person.log_capacity[f] - person.start[f]) - 1.0 for f in FAMILIES]
    return outcomes, float(np.mean(gains))


def _session(
    world: World,
    person: Person,
    policy: Policy,
    day: int,
    offset: float,
    rng: np.random.Generator,
) -> list[Outcome]:
    outcomes: list[Outcome] = []
    for family in FAMILIES:
        best_left, failed_once = 99.0, False
        for index in range(world.sets_a_session):
            usable = person.log_capacity[family] + offset - world.set_fatigue * index
            plan = policy.choose(family, usable, index)
            room = usable - math.log(plan.step.demand) - person.misfit[plan.step.key]
            reps, told, left, ended = do_set(world, person, plan, room, rng, day)
            failed = ended is Ended.COULD_NOT
            slip = bool(rng.random() < {0: 0.5, 1: 0.12}.get(left, 0.015))
            pain = int(rng.integers(3, 6)) if rng.random() < 0.004 else 0
            outcome = Outcome(
                day=day,
                family=family,
                demand=plan.step.demand,
                reps=reps,
                told_left=told,
                slip=slip,
                pain=pain,
                true_left=left,
                failed=failed,
                bad_day=offset <= BAD_DAY,
                counts=plan.counts,
                first_of_session=index == 0,
                ended=ended,
                told_ended=ended if world.tells_why else None,
                aim_left=plan.aim_left,
                calibration=plan.calibration,
            )
            outcomes.append(outcome)
            policy.told(family, outcome)
            person.sets_told += 1
            best_left, failed_once = min(best_left, left), failed_once or failed
        train(world, person, family, best_left, failed_once)
        person.last_done[family] = day
    return outcomes
