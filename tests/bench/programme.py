"""Programmes of invented clients: ``python -m tests.bench.programme [--year | --weeks]``.

Lets 2,000 invented clients live four weeks and prints which promises were broken and which families
were reached; ``--year`` prints a year of three people, ``--weeks`` the first weeks of four.
"""

import random
import time
from collections.abc import Mapping
from dataclasses import replace
from datetime import date, timedelta
from typing import Annotated

import typer
from rich.console import Console
from rich.progress import track
from rich.table import Table

from core.client.client import Client, KitAtHome, Limits
from core.client.operations import DayOrPart, Joint, Operation, OperationKind
from core.client.own_aim import OwnAim, families_for
from core.client.set_week import SetWeek, WeekStart
from core.dose.history import History
from core.programme.groups import GROUP_OF
from core.programme.lighter_week import is_lighter
from core.programme.session_time import CHOICES
from core.programme.walking import Talk, WalkDone, WalksNow, WalkWeek, walk_week
from core.programme.week import week_of
from core.vocabulary import Aim, Band, Condition, Family, Medicine, Sex, WalkingAid
from tests.core.movements.people import catalogue
from tests.support.generated_clients import generated_client
from tests.support.programme_lives import LivedDay, broken_promises, live

START = date(2026, 3, 2)
CONSOLE = Console(highlight=False, width=160)
DAYS = ((1, 4), (1, 3, 5), (2, 4, 6), (3,), (1, 2, 3, 5), (1, 2, 3, 4, 5, 6, 7))
HOME = KitAtHome(chair=43, bench=90, table=75, step=17, bottle=4, band=Band.MEDIUM, cushion=8)

PEOPLE: Mapping[str, Client] = {
    "strong, 59": Client(
        "strong, 59",
        birth_year=1967,
        sex=Sex.MALE,
        stature_cm=178,
        mass_kg=78,
        floor_ok=True,
        falls=0,
        fears_falling=False,
        walking_aid=WalkingAid.NONE,
        lives_alone=False,
        kit=HOME,
        aim=Aim.STRENGTH,
        session_minutes=40,
        limits=Limits(overhead_allowed=True),
    ),
    "frail, 82, alone": Client(
        "frail, 82, alone",
        birth_year=1944,
        stature_cm=158,
        mass_kg=54,
        falls=1,
        fears_falling=True,
        walking_aid=WalkingAid.STICK,
        lives_alone=True,
        kit=replace(HOME, step=None, bottle=1, band=Band.LIGHT),
        session_minutes=25,
        training_days=(2, 5),
    ),
    "knee, three months": Client(
        "knee, three months",
        birth_year=1957,
        stature_cm=165,
        mass_kg=74,
        operations=(
            Operation(kind=OperationKind.REPLACEMENT, joint=Joint.KNEE, on=DayOrPart(2025, 12, 1)),
        ),
        conditions=frozenset({Condition.HIP_KNEE_ARTHRITIS}),
        falls=0,
        fears_falling=False,
        walking_aid=WalkingAid.NONE,
        kit=HOME,
        wished_families=families_for(OwnAim.STAIRS),
    ),
    "heart failure": Client(
        "heart failure",
        birth_year=1953,
        sex=Sex.MALE,
        stature_cm=172,
        mass_kg=80,
        conditions=frozenset({Condition.HEART_FAILURE}),
        medicines=frozenset({Medicine.BETA_BLOCKER, Medicine.ACE_OR_ARB, Medicine.DIURETIC}),
        lives_alone=False,
        kit=HOME,
    ),
}


WALKS_NOW: Mapping[str, WalksNow] = {
    "strong, 59": WalksNow(25, 3),
    "frail, 82, alone": WalksNow(5, 2),
    "knee, three months": WalksNow(15, 3),
    "heart failure": WalksNow(10, 3),
}
"""Minutes and days of walks before the first plan."""


def invented(number: int) -> Client:
    """A client of any sort with days, minutes, aim and start of the week; the same for a number."""
    dice = random.Random(f"programme {number}")
    starts = [WeekStart.GENERAL, WeekStart.GENERAL, WeekStart.GENTLE, WeekStart.SEATED]
    wish = dice.choice([None, None, *OwnAim])
    return replace(
        generated_client(number),
        training_days=dice.choice(DAYS),
        session_minutes=dice.choice([None, *CHOICES]),
        wished_families=families_for(wish) if wish else (),
        week=SetWeek(start=dice.choice(starts)),
        aim=dice.choice(list(Aim)),
    )


def check(clients: int) -> int:
    """Prints what was broken, and which families were done by how many; 1 where something was."""
    reached: dict[Family, int] = dict.fromkeys(GROUP_OF, 0)
    broken, slowest = 0, 0.0
    for number in track(range(clients), "Four weeks of each client", console=CONSOLE):
        client = invented(number)
        days = list(live(client, catalogue(), START, weeks=4))
        for family in {item.family for day in days for item in day.plan.prescriptions}:
            reached[family] += 1
        for what in broken_promises(client, catalogue(), days):
            broken += 1
            CONSOLE.print(f"client {number}: {what}")
        before = days[-1].before if days else History()
        started = time.process_time()
        week_of(client, before, catalogue(), START)
        slowest = max(slowest, time.process_time() - started)
    for family, count in reached.items():
        CONSOLE.print(f"{family.value}: {count} clients")
    never = [family.value for family, count in reached.items() if not count]
    CONSOLE.print(f"{clients} clients, {broken} promises broken, never reached: {never or 'none'}")
    CONSOLE.print(f"slowest plan of two weeks: {1000 * slowest:.0f} ms of processor time")
    return 1 if broken or never else 0


def print_year(weeks: int, people: Mapping[str, Client], *, every: int = 1) -> None:
    """One table a person: week, minutes of each session, what was done at which rung, walks."""
    for name, client in people.items():
        table = Table(title=name, show_lines=True)
        for column in ("week", "minutes", "movements, rungs, sets x amount", "walks"):
            table.add_column(column)
        walked = _walked(client, weeks, WALKS_NOW[name])
        days = list(track(_lived(client, weeks), f"{weeks} weeks of {name}", console=CONSOLE))
        for week in range(0, weeks, every):
            these = [day for day in days if (day.on - START).days // 7 == week]
            lighter = any(is_lighter(day.before, day.on) for day in these)
            table.add_row(
                f"{week + 1}{' lighter' if lighter else ''}",
                " ".join(str(day.plan.minutes) for day in these),
                "\n".join(_told(day) for day in these),
                f"{walked[week].days} x {walked[week].each} min\n{walked[week].code.value}",
            )
        CONSOLE.print(table)
        for one in week_of(client, days[-1].before, catalogue(), days[-1].on).left_out:
            CONSOLE.print(f"not in these weeks: {one.group.value} ({one.why.value})")


def _walked(client: Client, weeks: int, now: WalksNow) -> list[WalkWeek]:
    """What each week asks for of somebody who walks as asked, with breath to talk."""
    walks: list[WalkDone] = []
    found: list[WalkWeek] = []
    for week in range(weeks):
        monday = START + timedelta(weeks=week)
        asked = walk_week(client, walks, monday, now, catalogue().steering)
        found.append(asked)
        walks += [
            WalkDone(monday + timedelta(days=day), asked.each, Talk.SENTENCES)
            for day in range(asked.days)
        ]
    return found


def _lived(client: Client, weeks: int) -> list[LivedDay]:
    return list(live(client, catalogue(), START, weeks))


def _told(day: LivedDay) -> str:
    movements = [
        f"{item.step.key} {item.sets}x{item.amount}{'s' if item.unit == 'seconds' else ''}"
        f"{' QUICK' if item.reasons and item.reasons[0].code == 'quick_rise' else ''}"
        for item in day.plan.prescriptions
    ]
    dropped = [f"-{one.family.value}" for one in day.plan.left_out]
    return f"{day.on:%a}: " + ", ".join([*movements, *dropped])


def main(
    clients: Annotated[int, typer.Option()] = 2000,
    *,
    year: Annotated[bool, typer.Option("--year")] = False,
    weeks: Annotated[bool, typer.Option("--weeks")] = False,
) -> None:
    """Check the promises, or print a year of three people, or eight weeks of four."""
    if year:
        three = dict(list(PEOPLE.items())[:3])
        print_year(52, three, every=4)
    elif weeks:
        print_year(8, PEOPLE)
    else:
        raise typer.Exit(check(clients))


if __name__ == "__main__":
    typer.run(main)
