"""How long pictures take: strips over all rungs, moving pictures, charts.

Usage: ``python -m tests.bench.pictures [--every 1]``
"""

import argparse
import time
from collections.abc import Callable
from functools import partial

import numpy as np
from rich.console import Console
from rich.table import Table

from bot.pictures.charts import DRAWN_BY
from bot.pictures.moving import moving_gif
from bot.pictures.strips import strip_png
from tests.bot.pictures.test_charts import EXAMPLES
from tests.core.figure.scenes import CATALOGUE, scene

STRIP_TARGET_MS = 150.0


def _times(calls: list[Callable[[], bytes]]) -> tuple[list[float], list[float], list[int]]:
    """Elapsed and processor milliseconds and bytes of each call, after one call to warm up."""
    calls[0]()
    elapsed, processor, sizes = [], [], []
    for call in calls:
        start, used = time.perf_counter(), time.process_time()
        content = call()
        elapsed.append(1000.0 * (time.perf_counter() - start))
        processor.append(1000.0 * (time.process_time() - used))
        sizes.append(len(content))
    return elapsed, processor, sizes


def main() -> None:
    """Measures and prints one table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--every", type=int, default=1, help="take every n-th rung")
    every = parser.parse_args().every
    rungs = [rung.id for rung in CATALOGUE][::every]
    table = Table("what", "count", "median ms", "90 % ms", "worst ms", "processor ms", "kB")
    rows: dict[str, list[Callable[[], bytes]]] = {
        f"strip (target {STRIP_TARGET_MS:.0f} ms)": [
            partial(lambda one: strip_png(scene(one)), rung) for rung in rungs
        ],
        "moving picture": [
            partial(lambda one: moving_gif(scene(one)), rung) for rung in rungs[::10]
        ],
        "chart": [partial(DRAWN_BY[name], EXAMPLES[name]) for name in DRAWN_BY],
    }
    for name, calls in rows.items():
        elapsed, processor, sizes = _times(calls)
        middle, most = np.percentile(elapsed, [50, 90])
        row = (middle, most, max(elapsed), np.median(processor), np.median(sizes) / 1000)
        table.add_row(name, str(len(calls)), *(f"{value:.0f}" for value in row))
    Console().print(table)


if __name__ == "__main__":
    main()
