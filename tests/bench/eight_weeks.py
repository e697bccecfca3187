"""Five invented people live eight weeks through the whole engine, day by day.

``python -m tests.bench.eight_weeks [NAME ...] [--weeks 8]`` prints a table of each: week, minutes,
rungs with sets and amount, walks, minutes of balance in each session and at the sink; and
what the coach was told. They answer each morning well, do what is planned in the time it takes, and
tap what they did, all by the chat.
"""

import asyncio
import tempfile
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from pathlib import Path
from typing import Annotated, Any
from zoneinfo import ZoneInfo

import typer
from rich.console import Console
from rich.table import Table

from bot.storage.facts import StoreFacts
from bot.storage.people import get_person
from bot.storage.tables import ClientRow
from bot.storage.unit import UnitOfWork
from core.dose.pace import set_seconds
from core.dose.prescription import Prescription, SessionPlan
from core.programme.walking import WalkDone
from core.vocabulary import Family
from tests.support.facts import reference
from tests.support.practice import NEW_ZEALAND, Practice, practice
from tests.support.sessions import finish, tap, values

CONSOLE = Console(highlight=False, width=150)
START = datetime(2026, 3, 1, 18, 0, tzinfo=ZoneInfo(NEW_ZEALAND))
SINK_WEEKDAY = 2
"""On Tuesdays, where nobody of the four trains, they stand at the sink."""
KIT = {"chair": 43, "bench": 90, "table": 75, "step": 17, "bottle": 4, "band": "medium"}

PEOPLE: Mapping[str, Mapping[str, Any]] = {
    "Strong": {
        "birth_year": 1967,
        "sex": "m",
        "stature_cm": 178,
        "mass_kg": 78,
        "floor": True,
        "falls": 0,
        "fears_falling": False,
        "walking_aid": "none",
        "lives_alone": False,
        "kit": KIT,
        "aim": "strength",
        "session_minutes": 40,
        "home_tests": [
            {"test": "chair_stand", "on": "2026-02-27", "result": 19.0, "arms_used": False},
            {"test": "one_leg_stand", "on": "2026-02-27", "result": 28.0, "arms_used": False},
        ],
        "walks_now": {"minutes": 25, "days": 3},
        "days": "1,3,5",
        "left": 3,
    },
    "Frail": {
        "birth_year": 1944,
        "stature_cm": 158,
        "mass_kg": 54,
        "floor": False,
        "falls": 1,
        "fears_falling": True,
        "walking_aid": "stick",
        "lives_alone": True,
        "kit": {"chair": 45, "bench": 90, "table": 74, "bottle": 1, "band": "light"},
        "walks_now": {"minutes": 5, "days": 2},
        "days": "1,4",
        "left": 4,
    },
    "Knee": {
        "birth_year": 1957,
        "stature_cm": 165,
        "mass_kg": 74,
        "conditions": ["hip_knee_arthritis", "joint_replacement"],
        "replaced_joints": [{"joint": "knee", "side": "right", "on": "2025-12-01"}],
        "falls": 0,
        "fears_falling": False,
        "walking_aid": "none",
        "lives_alone": False,
        "kit": KIT,
        "own_aim": "stairs",
        "walks_now": {"minutes": 15, "days": 3},
        "days": "1,3,5",
        "left": 3,
    },
    "Heart": {
        "birth_year": 1953,
        "sex": "m",
        "stature_cm": 172,
        "mass_kg": 80,
        "conditions": ["heart_failure"],
        "medicines": ["beta_blocker", "ace_or_arb", "diuretic"],
        "falls": 0,
        "fears_falling": False,
        "walking_aid": "none",
        "lives_alone": False,
        "kit": KIT,
        "walks_now": {"minutes": 10, "days": 3},
        "days": "1,3,5",
        "left": 4,
    },
    "Same": {
        "birth_year": 1958,
        "stature_cm": 166,
        "mass_kg": 70,
        "falls": 0,
        "fears_falling": False,
        "walking_aid": "none",
        "lives_alone": False,
        "kit": KIT,
        "walks_now": {"minutes": 20, "days": 3},
        "days": "1,3,5",
        "left": 5,
    },
    "Thumb": {
        "birth_year": 1955,
        "stature_cm": 168,
        "mass_kg": 70,
        "falls": 0,
        "fears_falling": False,
        "walking_aid": "none",
        "lives_alone": False,
        "kit": KIT,
        "walks_now": {"minutes": 20, "days": 3},
        "days": "1,3,5",
        "left": 2,
        "first_left": 14,
    },
}
"""Same and Thumb always tap the same number: "5 or more", and two, of 14 left at first."""


@dataclass
class Week:
    """What one week held."""

    sessions: list[tuple[date, SessionPlan, str]] = field(default_factory=list)
    walks: list[int] = field(default_factory=list)
    sink: list[str] = field(default_factory=list)


async def lived(name: str, weeks: int) -> tuple[list[Week], list[str]]:
    """The weeks of one of the four, and what their coach was told."""
    told = dict(PEOPLE[name])
    days, left = str(told.pop("days")), int(told.pop("left"))
    told.pop("first_left", None)
    who = name.lower()
    found: list[Week] = []
    with tempfile.TemporaryDirectory() as folder:
        async with practice(Path(folder), START) as village:
            await village.coach()
            await village.client(name, **told)
            await village.app.database.run(lambda unit: _train_on(unit, village.ids[who], days))
            for _ in range(weeks):
                week = Week()
                for weekday in range(1, 8):
                    await village.at("07:00")
                    await village.good_morning(who)
                    if str(weekday) in days.split(","):
                        week.sessions.append(await _session(village, who, left))
                    else:
                        await _easy_day(village, who, week, sink=weekday == SINK_WEEKDAY)
                found.append(week)
            coach = [text for text in village.heard("rua") if "Your list" in text or name in text]
    return found, coach


def _train_on(unit: UnitOfWork, client: int, days: str) -> None:
    unit.session.get_one(ClientRow, client).training_days = days
    unit.commit()


async def _session(village: Practice, who: str, left: int) -> tuple[date, SessionPlan, str]:
    await village.says(who, "/today")
    plan = await village.app.database.run(lambda unit: _plan(unit, village, who))
    await village.taps(who, "Start", "I am ready")
    for item in (None, *plan.prescriptions):
        if item is not None:
            await _movement(village, who, left, item)
        while "done" in values(village, who) and "effort=4" not in values(village, who):
            await village.wait(2.5)
            await tap(village, "done", who)
    said = await finish(village, who, left=left)
    on = village.clock.now().astimezone(ZoneInfo(NEW_ZEALAND)).date()
    return on, plan, said[-1].replace("\n", " ")


async def _movement(village: Practice, who: str, left: int, item: Prescription) -> None:
    """As planned; of a trial of strength all that was asked, and a harder step that it buys."""
    await village.wait(_minutes(item))
    planned = [value for value in values(village, who) if value.startswith("did=")]
    await tap(village, planned[-1] if item.calibration else planned[2], who)
    if "ended=told_to_stop" in values(village, who):
        await tap(village, "ended=told_to_stop", who)
    if f"left={left}" in values(village, who):
        await tap(village, f"left={left}", who)


def _minutes(item: Prescription) -> float:
    """Of a movement: its sets as reckoned, with a minute of rest after each."""
    one = set_seconds(item.step.rung, item.amount, item.unit, reference().catalogue)
    return item.sets * (one + 60.0) / 60.0


def balance_minutes(plan: SessionPlan) -> float:
    """Of a session: its holds with their rests."""
    return sum(_minutes(one) for one in plan.prescriptions if one.family is Family.BALANCE)


def _plan(unit: UnitOfWork, village: Practice, who: str) -> SessionPlan:
    me = get_person(unit, village.ids[who])
    facts = StoreFacts(unit, me, village.clock.now(), reference())
    session = facts.session(me.id, me.local(village.clock.now()).date())
    if session is None or session.plan is None:
        raise ValueError(f"no session for {who}: {village.last_to(who)}")
    return session.plan


async def _easy_day(village: Practice, who: str, week: Week, *, sink: bool) -> None:
    """A walk; on one day of the week balance at the sink before it."""
    if sink:
        said = await village.says(who, "/balance")
        week.sink.append(said[-1].splitlines()[0])
        if "steady" in values(village, who):
            await tap(village, "steady", who)
    said = await village.says(who, "/walk")
    if "talked" in values(village, who):
        await tap(village, "talked", who)
        walk = await village.app.database.run(lambda unit: _newest_walk(unit, village, who))
        week.walks.append(walk.minutes)


def _newest_walk(unit: UnitOfWork, village: Practice, who: str) -> WalkDone:
    me = get_person(unit, village.ids[who])
    return StoreFacts(unit, me, village.clock.now(), reference()).walks(me.id, 7)[-1]


def table_of(name: str, weeks: Sequence[Week]) -> Table:
    """Week by week, as a physiotherapist could read it."""
    table = Table(title=name, show_lines=True)
    columns = ("week", "minutes", "movements: rung, sets x amount; why", "walks", "balance", "sink")
    for column in columns:
        table.add_column(column)
    for number, week in enumerate(weeks, 1):
        codes = {reason.code.value for _, plan, _ in week.sessions for reason in plan.reasons}
        table.add_row(
            f"{number}{' lighter' if 'lighter_week' in codes else ''}",
            " ".join(str(plan.minutes) for _, plan, _ in week.sessions),
            "\n".join(
                f"{on:%a}: {told_plan(plan)}\n     > {said}" for on, plan, said in week.sessions
            ),
            f"{sum(week.walks)}: {' '.join(map(str, week.walks))}",
            " ".join(f"{balance_minutes(plan):.0f}" for _, plan, _ in week.sessions),
            "\n".join(week.sink),
        )
    return table


def told_plan(plan: SessionPlan) -> str:
    """Rungs with sets and amount, and what is left out with the reason."""
    movements = [
        f"{one.step.key} {one.sets}x{one.amount}{'s' if one.unit == 'seconds' else ''}"
        f"{' QUICK' if one.reasons and one.reasons[0].code == 'quick_rise' else ''}"
        for one in plan.prescriptions
    ]
    left = [f"-{one.family.value} ({one.reason.code.value})" for one in plan.left_out]
    return ", ".join([*movements, *left])


def main(
    names: Annotated[list[str] | None, typer.Argument()] = None,
    weeks: Annotated[int, typer.Option()] = 8,
) -> None:
    """Print the weeks of the four, or of those named."""
    for name in names or PEOPLE:
        found, coach = asyncio.run(lived(name, weeks))
        CONSOLE.print(table_of(name, found))
        CONSOLE.print(f"What the coach of {name} was told: {len(coach)} messages")
        for text in dict.fromkeys(coach):
            CONSOLE.print("  " + " ".join(text.split())[:300])


if __name__ == "__main__":
    typer.run(main)
