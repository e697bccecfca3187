"""Readiness and overload on invented clients: ours beside plain rules, same clients, same run.

Usage: ``python -m tests.bench.readiness_overload [--clients 300] [--seeds 71 72 73]``

The simulated people share assumptions with the rules, so that the figures rank rules and promise
nothing about real people.
"""

import argparse
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from rich.console import Console
from rich.progress import track
from rich.table import Table
from scipy.stats import rankdata

from core.load.overload import ALARM_ABOVE, QUIET_DAYS, OverloadDay, overload_days
from core.load.training_load import monotony, strain
from core.readiness.baseline import shortfalls
from core.readiness.readiness import EASE_OFF_FROM, blend
from tests.support.simulated_mornings import FIRST_DAY, SimulatedClient, day, simulated_clients

Values = NDArray[np.float64]
FALSE_ALARMS_A_YEAR = 2.0
_FIRST_JUDGED_DAY = 28
"""Overload rules that need four weeks of load could say nothing before."""


# --- Readiness: is today truly bad? Every rule gives one number a day, higher is worse. ---


def _answer_means(client: SimulatedClient) -> Values:
    """Mean of each day's answers; NaN where nothing was answered."""
    means = np.full(len(client.state), np.nan)
    for morning in client.mornings:
        values = list(morning.items().values())
        if values:
            means[(morning.on - FIRST_DAY).days] = np.mean(values)
    return means


def raw_mean(client: SimulatedClient) -> Values:
    """The plain mean of the answers."""
    return -_answer_means(client)


def plain_z(client: SimulatedClient) -> Values:
    """Below the own mean of 28 days in own standard deviations (from the third answer on)."""
    means = _answer_means(client)
    result = np.full(len(means), np.nan)
    for index in np.flatnonzero(~np.isnan(means)):
        past = means[max(0, index - 28) : index]
        past = past[~np.isnan(past)]
        if len(past) < 3:
            result[index] = 3.7 - means[index]
        else:
            result[index] = (past.mean() - means[index]) / max(past.std(ddof=1), 0.2)
    return result


def ours(client: SimulatedClient) -> Values:
    """Points below the own baseline, illness counted, a quarter of yesterday."""
    result = np.full(len(client.state), np.nan)
    before = 0.0
    for judged in shortfalls(client.mornings, day(len(client.state) - 1)):
        if judged.answered:
            result[(judged.on - FIRST_DAY).days] = blend(judged.points, before)
        before = judged.points
    return result


READINESS_RULES: dict[str, Callable[[SimulatedClient], Values]] = {
    "raw mean of the answers": raw_mean,
    "plain z": plain_z,
    "ours": ours,
}


@dataclass(frozen=True)
class ReadinessFigures:
    """How well a number tells truly bad days: areas under the curve, and the found share."""

    area: float
    found: float
    area_first_week: float


def area_under_curve(bad: NDArray[np.bool_], value: Values) -> float:
    """Chance that a bad day has the higher value, ties half (Mann and Whitney 1947)."""
    ranks = rankdata(value)
    count_bad = int(bad.sum())
    above = ranks[bad].sum() - count_bad * (count_bad + 1) / 2
    return float(above / (count_bad * (len(bad) - count_bad)))


def readiness_figures(
    clients: Sequence[SimulatedClient], rule: Callable[[SimulatedClient], Values]
) -> ReadinessFigures:
    """Figures of one rule over all answered days of all clients."""
    values = np.stack([rule(client) for client in clients])
    bad = np.stack([client.bad for client in clients])
    judged = ~np.isnan(values)
    line = np.quantile(values[judged & ~bad], 0.9)
    week = judged & (np.arange(values.shape[1]) < 7)
    return ReadinessFigures(
        area=area_under_curve(bad[judged], values[judged]),
        found=float(np.mean(values[judged & bad] > line)),
        area_first_week=area_under_curve(bad[week], values[week]),
    )


def eased_share(clients: Sequence[SimulatedClient]) -> tuple[float, float]:
    """Share of bad and of other answered days that the product's own line eases by its score."""
    values = np.stack([ours(client) for client in clients])
    bad = np.stack([client.bad for client in clients])
    judged = ~np.isnan(values)
    eased = values >= EASE_OFF_FROM
    return float(eased[judged & bad].mean()), float(eased[judged & ~bad].mean())


# --- Overload: alarms on two days in a row, two quiet weeks after each. ---


def _span_average(values: Iterable[float], span: int) -> Values:
    """Weighted average that stands still on days without a value."""
    weight, average, result = 2 / (span + 1), 0.0, []
    for value in values:
        if not np.isnan(value):
            average += weight * (value - average)
        result.append(average)
    return np.array(result)


def raw_sum_rule(client: SimulatedClient) -> Values:
    """Five-day average of the plain mean of the answers."""
    return _span_average(3.7 + raw_mean(client), 5)


def z_rule(client: SimulatedClient) -> Values:
    """Five-day average of the plain z."""
    return _span_average(plain_z(client), 5)


def _by_week(client: SimulatedClient, of_week: Callable[[list[float]], float]) -> Values:
    loads = list(client.loads)
    return np.array([of_week(loads[i - 6 : i + 1]) if i >= 6 else 0.0 for i in range(len(loads))])


def monotony_rule(client: SimulatedClient) -> Values:
    """Monotony of the last seven days."""
    return _by_week(client, monotony)


def strain_rule(client: SimulatedClient) -> Values:
    """Strain of the last seven days over the client's own first four weeks."""
    strains = _by_week(client, strain)
    return strains / max(float(np.mean(strains[7:28])), 1.0)


def ratio_rule(client: SimulatedClient) -> Values:
    """The weighted acute:chronic ratio, here only as a reference to beat."""
    loads = pd.Series(client.loads)
    acute = loads.ewm(span=7, adjust=False).mean().to_numpy()
    chronic = loads.ewm(span=28, adjust=False).mean().to_numpy()
    return acute / np.maximum(chronic, 5.0)


def _overload(client: SimulatedClient, with_prediction: bool) -> list[OverloadDay]:
    loads = {day(i): float(load) for i, load in enumerate(client.loads) if load > 0}
    missed = {day(i): float(v) for i, v in enumerate(client.below_prediction) if not np.isnan(v)}
    last = day(len(client.state) - 1)
    return overload_days(client.mornings, loads, last, missed if with_prediction else None)


def _values(days: Sequence[OverloadDay], length: int) -> Values:
    result = np.full(length, -np.inf)
    for judged in days:
        if not judged.left_out:
            result[(judged.on - FIRST_DAY).days] = judged.value
    return result


def overload_without_prediction(client: SimulatedClient) -> Values:
    """Ours from wellbeing and load only."""
    return _values(_overload(client, False), len(client.state))


def overload_with_prediction(client: SimulatedClient) -> Values:
    """Ours with repetitions below prediction."""
    return _values(_overload(client, True), len(client.state))


OVERLOAD_RULES: dict[str, Callable[[SimulatedClient], Values]] = {
    "raw sum of the answers": raw_sum_rule,
    "plain z": z_rule,
    "monotony": monotony_rule,
    "strain": strain_rule,
    "weighted acute:chronic": ratio_rule,
    "ours, wellbeing + load": overload_without_prediction,
    "ours, + below prediction": overload_with_prediction,
}


@dataclass(frozen=True)
class OverloadFigures:
    """What a rule found at a line: share of episodes, false alarms a client-year, median delay."""

    line: float
    found: float
    false_a_year: float
    median_delay: float


def alarms(values: Values, line: float) -> Iterator[int]:
    """Days of alarm: over the line on two days in a row, then quiet."""
    quiet_until = _FIRST_JUDGED_DAY
    for index in range(1, len(values)):
        if index >= quiet_until and values[index] > line and values[index - 1] > line:
            yield index
            quiet_until = index + QUIET_DAYS


def figures_at(
    clients: Sequence[SimulatedClient], values: Sequence[Values], line: float
) -> OverloadFigures:
    """Count found episodes, false alarms and delays at one line."""
    delays: list[int] = []
    episodes = false = healthy_days = 0
    for client, signs in zip(clients, values, strict=True):
        rung = list(alarms(signs, line))
        episodes += len(client.episodes)
        inside = np.zeros(len(signs), dtype=bool)
        for episode in client.episodes:
            inside[episode.starts : episode.ends + 8] = True
            first = next((a for a in rung if episode.starts <= a <= episode.ends), None)
            delays += [] if first is None else [first - episode.starts]
        false += sum(not inside[index] for index in rung)
        healthy_days += int((~inside[_FIRST_JUDGED_DAY:]).sum())
    return OverloadFigures(
        line=line,
        found=len(delays) / episodes,
        false_a_year=false / healthy_days * 365,
        median_delay=float(np.median(delays)) if delays else float("nan"),
    )


def at_false_alarms(
    clients: Sequence[SimulatedClient], values: Sequence[Values], wanted: float
) -> OverloadFigures:
    """Figures at the lowest line that rings at most ``wanted`` false alarms a client-year."""
    finite = np.concatenate(values)
    low, high = float(np.quantile(finite[np.isfinite(finite)], 0.5)), float(finite.max())
    for _ in range(24):
        middle = (low + high) / 2
        if figures_at(clients, values, middle).false_a_year > wanted:
            low = middle
        else:
            high = middle
    return figures_at(clients, values, high)


def main() -> None:
    """Print both tables, the means over the seeds."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--clients", type=int, default=300)
    parser.add_argument("--seeds", type=int, nargs="+", default=[71, 72, 73])
    options = parser.parse_args()
    console = Console()
    groups = [
        list(simulated_clients(np.random.default_rng(seed), options.clients))
        for seed in track(options.seeds, "Inventing clients", console=console)
    ]
    _print_readiness(console, groups)
    _print_overload(console, groups)


def _print_readiness(console: Console, groups: Sequence[Sequence[SimulatedClient]]) -> None:
    table = Table(title="Does the number tell a truly bad day?")
    for heading in ("rule", "AUC", "found at 10 % false", "AUC first week"):
        table.add_column(heading)
    for name, rule in track(READINESS_RULES.items(), "Readiness", console=console):
        runs = [readiness_figures(clients, rule) for clients in groups]
        table.add_row(
            name,
            f"{np.mean([run.area for run in runs]):.3f}",
            f"{np.mean([run.found for run in runs]):.2f}",
            f"{np.mean([run.area_first_week for run in runs]):.2f}",
        )
    console.print(table)
    bad, other = np.mean([eased_share(clients) for clients in groups], axis=0)
    console.print(f"The line of the product eases {bad:.2f} of bad days and {other:.2f} of others.")


def _print_overload(console: Console, groups: Sequence[Sequence[SimulatedClient]]) -> None:
    table = Table(title=f"Overload at {FALSE_ALARMS_A_YEAR:g} false alarms a client-year")
    for heading in ("rule", "found", "median delay, days", "false a year", "line"):
        table.add_column(heading)
    product: list[OverloadFigures] = []
    for name, rule in track(OVERLOAD_RULES.items(), "Overload", console=console):
        runs = []
        for clients in groups:
            values = [rule(client) for client in clients]
            runs.append(at_false_alarms(clients, values, FALSE_ALARMS_A_YEAR))
            if rule is overload_with_prediction:
                product.append(figures_at(clients, values, ALARM_ABOVE))
        table.add_row(name, *_overload_cells(runs))
    table.add_row("the product's own line", *_overload_cells(product))
    console.print(table)


def _overload_cells(runs: Sequence[OverloadFigures]) -> tuple[str, ...]:
    return (
        f"{np.mean([run.found for run in runs]):.2f}",
        f"{np.mean([run.median_delay for run in runs]):.0f}",
        f"{np.mean([run.false_a_year for run in runs]):.1f}",
        f"{np.mean([run.line for run in runs]):.2f}",
    )


if __name__ == "__main__":
    main()
