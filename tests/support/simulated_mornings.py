"""Invented clients whose truth is known: daily state, illness, overload, holidays, missed mornings.

A day's true state is a slow and a fast wave, minus illness, minus the fatigue that training (and
life) piles up. Answers are that state seen through a person: own usual of each item, own habit of
tapping, noise of each item, drift over months. Everything is drawn from the generator handed in, so
that a seed gives the same clients to every rule that is compared.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

import numpy as np
from numpy.typing import NDArray

from core.readiness.morning_questions import IllKind, Morning, MorningItem

FIRST_DAY = date(2026, 1, 5)
BAD_DAY_BELOW = -2.3
"""True state, in spreads of ordinary days, below which a day is truly bad."""

# How strongly each item follows the true state, in points for one spread.
_FOLLOWS = {
    MorningItem.SLEEP: 0.38,
    MorningItem.TIREDNESS: 0.55,
    MorningItem.SORENESS: 0.36,
    MorningItem.STRESS: 0.30,
    MorningItem.MOOD: 0.40,
}
_ITEM_NOISE = {
    MorningItem.SLEEP: 0.55,
    MorningItem.TIREDNESS: 0.40,
    MorningItem.SORENESS: 0.50,
    MorningItem.STRESS: 0.50,
    MorningItem.MOOD: 0.40,
}


@dataclass(frozen=True)
class Episode:
    """A stretch of too much: the days on which doing too much began, and its fatigue ended."""

    starts: int
    ends: int


@dataclass(frozen=True)
class SimulatedClient:
    """One client's truth and what was recorded of it; arrays have one entry a day.

    Attributes:
        state: true state in spreads of ordinary days.
        mornings: the answered check-ins only.
        loads: recorded load, effort x minutes.
        below_prediction: predicted minus observed day offset of a session, in its spreads;
            NaN on days without a session.
        away: days of a holiday.
    """

    state: NDArray[np.float64]
    mornings: tuple[Morning, ...]
    loads: NDArray[np.float64]
    below_prediction: NDArray[np.float64]
    ill: NDArray[np.bool_]
    away: NDArray[np.bool_]
    episodes: tuple[Episode, ...]

    @property
    def bad(self) -> NDArray[np.bool_]:
        """The truly bad days."""
        return self.state < BAD_DAY_BELOW


def day(index: int) -> date:
    """The calendar day of a simulated day."""
    return FIRST_DAY + timedelta(days=index)


def simulated_clients(
    random: np.random.Generator, count: int, days: int = 180
) -> Iterator[SimulatedClient]:
    """``count`` independent clients."""
    for _ in range(count):
        yield _one(random, days)


def _one(random: np.random.Generator, days: int) -> SimulatedClient:
    ill_kind = _illness(random, days)
    ill = np.array([kind is not IllKind.NONE for kind in ill_kind])
    away = _holidays(random, days)
    loads, hidden, starts = _loads(random, days, ill, away)
    fatigue = _fatigue(random, loads + hidden, days)
    loads = loads + _harmless_activity(random, days)
    episodes = tuple(_episode(start, fatigue, days) for start in starts)
    sickness = np.array([_SICK_COST[kind] for kind in ill_kind])
    waves = 0.62 * _wave(random, days, 0.75) + 0.78 * _wave(random, days, 0.15)
    state = waves - sickness - fatigue
    observed = np.where(loads > 0, -state + random.normal(0, 1.2, days), np.nan)
    observed = np.where(random.random(days) < 0.5, observed, np.nan)
    return SimulatedClient(
        state=state,
        mornings=tuple(_mornings(random, state, ill_kind, away)),
        loads=loads,
        below_prediction=observed,
        ill=ill,
        away=away,
        episodes=episodes,
    )


_SICK_COST = {
    IllKind.NONE: 0.0,
    IllKind.ABOVE_NECK: 1.3,
    IllKind.BELOW_NECK: 2.2,
    IllKind.FEVER: 3.0,
}


def _wave(random: np.random.Generator, days: int, persistence: float) -> NDArray[np.float64]:
    """A first-order wave of spread one."""
    steps = random.normal(0, np.sqrt(1 - persistence**2), days)
    wave = np.empty(days)
    wave[0] = random.normal()
    for index in range(1, days):
        wave[index] = persistence * wave[index - 1] + steps[index]
    return wave


def _illness(random: np.random.Generator, days: int) -> list[IllKind]:
    """About three illnesses a year, four to nine days each, worst in the first half."""
    kinds = [IllKind.NONE] * days
    index = int(random.exponential(120))
    while index < days:
        worst = random.choice(
            [IllKind.ABOVE_NECK, IllKind.BELOW_NECK, IllKind.FEVER], p=[0.5, 0.35, 0.15]
        )
        length = int(random.integers(4, 10))
        for offset in range(min(length, days - index)):
            kinds[index + offset] = IllKind(worst) if offset < length / 2 else IllKind.ABOVE_NECK
        index += length + int(random.exponential(120))
    return kinds


def _holidays(random: np.random.Generator, days: int) -> NDArray[np.bool_]:
    away = np.zeros(days, dtype=bool)
    for _ in range(int(random.poisson(days / 180))):
        start = int(random.integers(14, days))
        away[start : start + int(random.integers(5, 15))] = True
    return away


def _loads(
    random: np.random.Generator,
    days: int,
    ill: NDArray[np.bool_],
    away: NDArray[np.bool_],
) -> tuple[NDArray[np.float64], NDArray[np.float64], list[int]]:
    """Recorded load, load that nobody records, and the days on which too much begins."""
    weekday = np.arange(days) % 7
    planned = np.isin(weekday, [0, 2, 4])
    done = planned & ~ill & ~away & (random.random(days) < 0.88)
    effort = np.clip(random.normal(4.5, 1.0, days), 1, 10)
    minutes = np.clip(random.normal(35, 6, days), 10, 90)
    loads = np.where(done, np.round(effort * 2) / 2 * np.round(minutes), 0.0)
    hidden = np.zeros(days)
    starts: list[int] = []
    start = 35 + int(random.exponential(110))
    while start < days - 21:
        length = int(random.integers(16, 30))
        stretch = slice(start, start + length)
        extra = np.clip(random.normal(130, 40, days), 30, 300)
        shown = random.choice([0.0, 0.4, 0.8], p=[0.3, 0.4, 0.3])
        loads[stretch] += np.where(random.random(days) < shown, extra, 0)[stretch]
        hidden[stretch] += ((1 - shown) * extra)[stretch]
        starts.append(start)
        start += length + 35 + int(random.exponential(110))
    return loads, hidden, starts


def _harmless_activity(random: np.random.Generator, days: int) -> NDArray[np.float64]:
    """Told activity that wears nobody out: some days, every day for walkers, busy spells."""
    often = random.choice([0.1, 0.3, 0.8], p=[0.4, 0.35, 0.25])
    minutes = random.uniform(15, 60, days)
    activity = np.where(random.random(days) < often, 2.5 * minutes, 0.0)
    for _ in range(int(random.poisson(days / 60))):
        start = int(random.integers(0, days))
        length = int(random.integers(5, 13))
        activity[start : start + length] += random.uniform(40, 160)
    return activity


def _fatigue(
    random: np.random.Generator, loads: NDArray[np.float64], days: int
) -> NDArray[np.float64]:
    """What load above this client's bearing leaves behind, in spreads; it fades over two weeks."""
    bears = random.uniform(1.25, 1.5)
    weight, fade = random.uniform(0.0020, 0.0030), np.exp(-1 / 9)
    usual = np.mean(loads[:28]) * bears + 15
    fatigue = np.zeros(days)
    for index in range(1, days):
        fatigue[index] = max(0.0, fade * fatigue[index - 1] + weight * (loads[index - 1] - usual))
        # A tired person does not recover faster than the fatigue fades.
        fatigue[index] = max(fatigue[index], fade**2 * fatigue[index - 1])
    return fatigue


def _episode(start: int, fatigue: NDArray[np.float64], days: int) -> Episode:
    """From the first day of too much until its fatigue is down to a third of its worst."""
    worst = start + int(np.argmax(fatigue[start : start + 40]))
    end = worst
    while end < days - 1 and fatigue[end] > fatigue[worst] / 3:
        end += 1
    return Episode(start, end)


def _mornings(
    random: np.random.Generator,
    state: NDArray[np.float64],
    ill_kind: list[IllKind],
    away: NDArray[np.bool_],
) -> Iterator[Morning]:
    days = len(state)
    general = random.normal(3.75, 0.38)
    usual = {item: general + random.normal(0, 0.35) for item in MorningItem}
    candour = random.uniform(0.6, 1.4)
    always_middle = random.random() < 0.03
    misses = random.beta(1.2, 9)
    drift = np.cumsum(random.normal(0, 0.025, days))
    shared = 0.15 * random.normal(0, 1, days)
    for index in range(days):
        bad = state[index] < BAD_DAY_BELOW
        if random.random() < misses + 0.85 * away[index] + 0.08 * bad:
            continue
        answers: dict[str, Any] = {}
        for item in MorningItem:
            if random.random() < 0.02:
                continue
            level = usual[item] + drift[index] + shared[index]
            level += candour * _FOLLOWS[item] * state[index]
            level += random.normal(0, _ITEM_NOISE[item])
            answers[item.value] = 3 if always_middle else int(np.clip(np.rint(level), 1, 5))
        # Some illness is kept quiet.
        kind = ill_kind[index] if random.random() < 0.85 else IllKind.NONE
        yield Morning(on=day(index), ill=kind, **answers)
