"""Measure doses on invented clients: ``python -m tests.bench.dose``.

Every way of choosing sets lives through the same clients; the table stands against the targets.
``--worlds`` adds clients who are not as the filter thinks. Half a year of 500 clients under all
ways takes about ten minutes a seed. Seeds from 0 on are for reporting; tune on others
(``--first-seed 100``), or the table only shows how well its own noise was learnt.
"""

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from statistics import fmean
from typing import Annotated

import typer
from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn
from rich.table import Table

from core.vocabulary import Aim
from tests.support.dose_policies import FixedRung, Oracle, Ours, TwoForTwo
from tests.support.simulated_clients import Outcome, Policy, live
from tests.support.simulated_worlds import OTHER_WORLDS, World

FIRST_STEADY_DAY = 60
LARGEST_RISE = 1.15

TARGETS = {
    "in range": ">= .62",
    "from day 60": ">= .66",
    "none left": "<= .09",
    "on bad days": "<= .13",
    "failed": "<= .03",
    "gain of oracle": ">= .78",
    "too large": "0",
}


@dataclass
class Tally:
    """Figures of one way of choosing, over all clients."""

    sets: int = 0
    in_range: list[bool] = field(default_factory=list)
    steady: list[bool] = field(default_factory=list)
    none_left: int = 0
    failed: int = 0
    bad: list[bool] = field(default_factory=list)
    too_large: int = 0
    over_holes: int = 0
    gains: list[float] = field(default_factory=list)

    def add(self, outcomes: Iterable[Outcome], gain: float, ladder_ratio: dict[str, float]) -> None:
        """Count one client's half year."""
        last: dict[str, Outcome] = {}
        for outcome in outcomes:
            right = 1 <= outcome.true_left <= 3 and not outcome.failed
            if outcome.counts:
                self.in_range.append(right)
                if outcome.day >= FIRST_STEADY_DAY:
                    self.steady.append(right)
            self.sets += 1
            self.none_left += outcome.true_left <= 0
            self.failed += outcome.failed
            if outcome.bad_day:
                self.bad.append(outcome.true_left <= 0)
            before = last.get(outcome.family)
            if before and outcome.demand > before.demand * LARGEST_RISE * (1 + 1e-9):
                hole = ladder_ratio.get(f"{outcome.family} {before.demand:.9f}", 1.0)
                listed = math.isclose(hole, outcome.demand / before.demand, rel_tol=1e-6)
                self.over_holes += listed
                self.too_large += not listed
            last[outcome.family] = outcome
        self.gains.append(gain)

    def row(self, oracle_gain: float) -> list[str]:
        """The figures as text, in the order of ``TARGETS``."""
        gain = fmean(self.gains)
        return [
            f"{fmean(self.in_range):.3f}" if self.in_range else "-",
            f"{fmean(self.steady):.3f}" if self.steady else "-",
            f"{self.none_left / self.sets:.3f}",
            f"{fmean(self.bad):.3f}" if self.bad else "-",
            f"{self.failed / self.sets:.3f}",
            f"{gain / oracle_gain:.2f} ({100 * gain:.1f} %)",
            f"{self.too_large} (+{self.over_holes / len(self.gains):.1f} holes each)",
        ]


class Recorded:
    """A policy that keeps its client's ladders, so that holes can be told from large steps."""

    def __init__(self, policy: Policy) -> None:
        self.policy = policy
        self.holes: dict[str, float] = {}

    def start(self, person) -> None:
        self.holes = {
            f"{family} {step.demand:.9f}": step.hole_above
            for family, ladder in person.ladders.items()
            for step in ladder
            if step.hole_above
        }
        self.policy.start(person)

    def __getattr__(self, name: str):
        return getattr(self.policy, name)


WAYS: dict[str, Callable[[World], Policy]] = {
    "fixed rung": lambda world: FixedRung(),
    "2-for-2, main rungs": lambda world: TwoForTwo(fine=False),
    "2-for-2, fine ladder": lambda world: TwoForTwo(fine=True),
    "ours without readiness": lambda world: Ours(with_readiness=False),
    "ours, open": lambda world: Ours(),
    "ours, strength 8-12": lambda world: Ours(Aim.STRENGTH),
    "ours, endurance 15-20": lambda world: Ours(Aim.ENDURANCE),
    "oracle": lambda world: Oracle(world),
}
IN_OTHER_WORLDS = ("ours, open", "oracle")


def measure(
    world: World,
    ways: Iterable[str],
    clients: int,
    seeds: Iterable[int],
    days: int,
    tick: Callable[[], None],
) -> dict[str, Tally]:
    """Let the same clients live under each way."""
    tallies = {way: Tally() for way in ways}
    for way, tally in tallies.items():
        policy = Recorded(WAYS[way](world))
        for seed in seeds:
            for client in range(clients):
                outcomes, gain = live(world, policy, 1_000_000 * seed + client, days)
                tally.add(outcomes, gain, policy.holes)
                tick()
    return tallies


def table_of(title: str, tallies: dict[str, Tally]) -> Table:
    """One world's table, targets on top."""
    table = Table(title=title)
    table.add_column("way")
    for name in TARGETS:
        table.add_column(name, justify="right")
    table.add_row("target (open)", *TARGETS.values(), style="bold")
    oracle_gain = fmean(tallies["oracle"].gains)
    for way, tally in tallies.items():
        table.add_row(way, *tally.row(oracle_gain))
    return table


def main(
    clients: Annotated[int, typer.Option(help="Clients a seed.")] = 100,
    seeds: Annotated[int, typer.Option(help="How many seeds.")] = 3,
    days: Annotated[int, typer.Option(help="Days each client lives.")] = 180,
    worlds: Annotated[bool, typer.Option(help="Also clients unlike the filter's idea.")] = False,
    first_seed: Annotated[int, typer.Option(help="The first of the seeds.")] = 0,
    only: Annotated[str, typer.Option(help="Only ways that begin so; the oracle always.")] = "",
) -> None:
    """Measure doses on invented clients and print the table against the targets."""
    ways = [way for way in WAYS if way.startswith(only) or way == "oracle"]
    rounds: list[tuple[World, Iterable[str]]] = [(World(), ways)]
    if worlds:
        rounds += [(world, IN_OTHER_WORLDS) for world in OTHER_WORLDS]
    console = Console(width=150)
    columns = (TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn())
    with Progress(*columns, TimeRemainingColumn(), console=Console(stderr=True)) as bar:
        total = sum(len(list(ways)) for _, ways in rounds) * clients * seeds
        task = bar.add_task("clients", total=total)
        for world, own in rounds:
            bar.update(task, description=world.name)
            several = range(first_seed, first_seed + seeds)
            tallies = measure(world, own, clients, several, days, lambda: bar.advance(task))
            console.print(table_of(f"{world.name}: {clients} x {seeds} clients", tallies))


if __name__ == "__main__":
    typer.run(main)
