"""Many lives, with a list of the laws that they broke: ``python -m tests.lives --lives 40``."""

from bot.cli.start import one_thread_for_arithmetic

one_thread_for_arithmetic()

import asyncio  # noqa: E402
from collections import Counter  # noqa: E402
from typing import Annotated  # noqa: E402

import typer  # noqa: E402
from rich.console import Console  # noqa: E402
from rich.progress import (  # noqa: E402
    BarColumn,
    MofNCompleteColumn,
    Progress,
    TextColumn,
    TimeElapsedColumn,
    TimeRemainingColumn,
)
from rich.table import Table  # noqa: E402

from tests.lives.laws.all_laws import LAWS  # noqa: E402
from tests.lives.life import Fault, Lived, live  # noqa: E402
from tests.lives.shrink import shrunk  # noqa: E402


def main(
    lives: Annotated[int, typer.Option(help="How many lives.")] = 200,
    days: Annotated[int, typer.Option(help="Days of each.")] = 60,
    seed: Annotated[int, typer.Option(help="The same seed gives the same lives.")] = 1,
    *,
    shrink: Annotated[bool, typer.Option(help="Look for the shortest life of each fault.")] = True,
) -> None:
    """Let invented people live in a practice, and check all laws after every step."""
    console = Console()
    asyncio.run(_all(lives, days, seed, shrink=shrink, console=console))


async def _all(lives: int, days: int, seed: int, *, shrink: bool, console: Console) -> None:
    looked: Counter[str] = Counter()
    broken: Counter[str] = Counter()
    kinds: Counter[str] = Counter()
    shortest: dict[str, tuple[Lived, Fault, str]] = {}
    steps = 0
    columns = (
        TextColumn("{task.description}"),
        BarColumn(),
        MofNCompleteColumn(),
        TimeElapsedColumn(),
        TimeRemainingColumn(),
    )
    with Progress(*columns, console=console) as progress:
        days_bar = progress.add_task("days lived", total=lives * days)
        for number in range(lives):
            name = f"{seed}:{number}"
            lived = await live(
                name,
                days,
                day_over=lambda day, n=number: progress.update(days_bar, completed=n * days + day),
            )
            progress.update(days_bar, completed=(number + 1) * days)
            steps += lived.steps
            looked += lived.looked
            kinds += Counter(type(act).__name__ for act in lived.acts)
            for fault in lived.faults:
                broken[fault.law] += 1
                before = shortest.get(fault.law)
                if before is None or fault.act < before[1].act:
                    shortest[fault.law] = (lived, fault, name)
                if before is None:
                    progress.console.print(f"[bold]{fault.law}[/]: {fault.what} (life {name})")
        console.print(f"{lives} lives of {days} days, {steps} steps; {dict(kinds.most_common())}")
        console.print(_table(looked, broken, lives))
        for law, (lived, fault, name) in sorted(shortest.items()):
            console.rule(f"{law} (life {name})")
            if not shrink:
                console.print(fault.what, markup=False)
                continue
            bar = progress.add_task(f"shorter: {law}", total=None)

            def tried(tries: int, acts: int, bar=bar, law=law) -> None:
                progress.update(
                    bar, description=f"shorter: {law}, {acts} acts left", completed=tries
                )

            found = await shrunk(lived, fault, tried)
            progress.remove_task(bar)
            console.print("\n".join(found.diary()), markup=False, highlight=False)


def _table(looked: Counter[str], broken: Counter[str], lives: int) -> Table:
    table = Table("law", "looked at, steps", f"broken in, of {lives} lives")
    for law in LAWS:
        table.add_row(law, str(looked[law]), str(broken[law] or ""))
    return table


if __name__ == "__main__":
    typer.run(main)
