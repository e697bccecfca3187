"""A week lived by typing only, by three people, and by buttons only.

``python -m tests.lives.typing_week [WHO ...] [--said]`` prints what each week cost: taps, messages
typed, new messages shown, and stumbles (words that were not understood); with ``--said`` also each
line with the answer to it. The lines are those of ``typed_week``; what they leave out (a question
that no line answers) is tapped, and counts as a tap.
"""

from bot.cli.start import one_thread_for_arithmetic

one_thread_for_arithmetic()

import asyncio  # noqa: E402
import tempfile  # noqa: E402
from collections.abc import Sequence  # noqa: E402
from dataclasses import dataclass, field  # noqa: E402
from datetime import datetime  # noqa: E402
from pathlib import Path  # noqa: E402
from typing import Annotated  # noqa: E402
from zoneinfo import ZoneInfo  # noqa: E402

import typer  # noqa: E402
from rich.console import Console  # noqa: E402
from rich.table import Table  # noqa: E402

from tests.lives.typed_week import MORNING, PEOPLE, week_of  # noqa: E402
from tests.support.practice import NEW_ZEALAND, Practice, practice  # noqa: E402
from tests.support.sessions import tap, values  # noqa: E402

EVENING = datetime(2026, 3, 2, 18, 0, tzinfo=ZoneInfo(NEW_ZEALAND))
DAYS = range(1, 8)
BY_BUTTONS = "buttons"
SESSION_DAYS_BY_BUTTONS = (1, 3, 5)
MOST_ACTS = 90
FEW_WORDS = 4
FOR_THE_COACH = "I cannot answer that by myself"
STUMBLED = ("did not understand", "I could not find", "I was looking for one number")
WORDS_OF_BUTTONS = ("start", "ready", "done")
PREFERRED = ("trouble=nothing", "today", "start", "ready", "done", "left=3", "effort=4")
PREFERRED = (*PREFERRED, "stress=4", "pick=leave", "sharp=no", "pain_level=2")
ASKED = ("trouble=", *(f"{one}=" for one in MORNING), "stress=", *WORDS_OF_BUTTONS)
ASKED = (*ASKED, "did=", "ended=", "left=", "effort=", "minutes=")
FOLLOW_UPS = ("pain_place=", "pain_level=", "pain_since=", "ill_kind=", "since=", "settled=")
ASKED = (*ASKED, *FOLLOW_UPS)


@dataclass
class Cost:
    """What a week cost one person."""

    taps: int = 0
    typed: int = 0
    shown: int = 0
    sessions: int = 0
    for_coach: int = 0
    signs: int = 0
    stumbles: list[str] = field(default_factory=list)
    said: list[str] = field(default_factory=list)


@dataclass
class Day:
    """The lines of a day that are still to be typed."""

    morning: list[str]
    session: list[str]
    free: list[str]


def main(
    who: Annotated[list[str] | None, typer.Argument()] = None,
    *,
    said: bool = False,
) -> None:
    """Live the weeks and print what they cost."""
    asyncio.run(_main(tuple(who or (*PEOPLE, BY_BUTTONS)), said=said))


async def _main(people: Sequence[str], *, said: bool) -> None:
    console = Console(width=200)
    table = Table(
        "who",
        "sessions",
        "taps",
        "typed",
        "messages",
        "for the coach",
        "asked of a sign",
        "stumbles",
    )
    for who in people:
        with tempfile.TemporaryDirectory() as home:
            async with practice(Path(home) / "home", EVENING, database="") as running:
                cost = await _week(running, who)
        row = (
            cost.sessions,
            cost.taps,
            cost.typed,
            cost.shown,
            cost.for_coach,
            cost.signs,
            len(cost.stumbles),
        )
        table.add_row(who, *map(str, row))
        for line in cost.said if said else cost.stumbles:
            console.print(f"{who}: {line}", markup=False, highlight=False)
    console.print(table)


async def _week(running: Practice, who: str) -> Cost:
    await running.coach("Rua")
    await running.client("Mary")
    cost = Cost()
    for number in DAYS:
        lines = {} if who == BY_BUTTONS else week_of(who)
        day = Day(*(list(lines.get((number, one), ())) for one in ("morning", "session", "free")))
        trains = bool(day.session) or (who == BY_BUTTONS and number in SESSION_DAYS_BY_BUTTONS)
        await running.at("07:00")
        await _until_nothing_is_asked(running, day, cost, typing=who != BY_BUTTONS)
        if trains:
            await _say_or_tap(running, "today", cost, typing=who != BY_BUTTONS)
            await _until_nothing_is_asked(running, day, cost, typing=who != BY_BUTTONS)
            cost.sessions += 1
        for text in [*day.morning, *day.free]:
            await running.wait(5)
            await _says(running, text, cost)
    return cost


async def _until_nothing_is_asked(running: Practice, day: Day, cost: Cost, *, typing: bool) -> None:
    for _ in range(MOST_ACTS):
        await running.wait(2)
        offered = values(running)
        if typing and running.last_to("mary").startswith("I understand:"):
            await _says(running, "yes", cost)
            continue
        asked = next((key for key in ASKED if _is_asked(key, offered)), "")
        ended = "start" in offered and not day.session and typing
        if not asked or ended or "all written down" in running.last_to("mary"):
            return
        text = _line_for(asked, running, day) if typing else ""
        if text:
            stumbled = await _says(running, text, cost)
            if stumbled and asked != "trouble=":
                await _taps(running, _button(asked, values(running)), cost)
        else:
            await _taps(running, _button(asked, offered), cost)


def _line_for(asked: str, running: Practice, day: Day) -> str:
    """What is typed there, "" where the lines say nothing of it."""
    if asked in WORDS_OF_BUTTONS:
        return asked
    question = asked.rstrip("=")
    if asked == "trouble=" and len(day.morning) > len(MORNING):
        # One question of the chat stands for three that the writers were asked.
        told = [one for one in day.morning[len(MORNING) :] if len(one.split()) > FEW_WORDS]
        said = ". ".join(told) or day.morning[len(MORNING)]
        del day.morning[len(MORNING) :]
        return said
    if question in MORNING and len(day.morning) > len(MORNING) - MORNING.index(question) - 1:
        return day.morning.pop(0)
    if asked == "did=" and day.session:
        return day.session.pop(0)
    return ""


async def _say_or_tap(running: Practice, value: str, cost: Cost, *, typing: bool) -> None:
    if typing or value not in values(running):
        await _says(running, value, cost)
    else:
        await _taps(running, value, cost)


async def _says(running: Practice, text: str, cost: Cost) -> bool:
    before = len(running.channel.sent)
    await running.says("mary", text)
    cost.typed += 1
    answers = _count(running, before, cost)
    cost.said.append(f"> {text}\n      {' || '.join(one[:150] for one in answers)}")
    cost.for_coach += any(FOR_THE_COACH in one for one in answers)
    stumbled = any(mark in one for one in answers for mark in STUMBLED) or not answers
    if stumbled:
        cost.stumbles.append(cost.said[-1])
    if any("Is this happening now?" in one for one in answers):
        # Asked whether a small pain is a sign, which the lines say nothing of.
        cost.signs += 1
        await _taps(running, "no", cost)
    return stumbled


async def _taps(running: Practice, value: str, cost: Cost) -> None:
    before = len(running.channel.sent)
    await tap(running, value)
    cost.taps += 1
    answers = _count(running, before, cost)
    cost.said.append(f"[{value}]\n      {' || '.join(one[:150] for one in answers)}")


def _count(running: Practice, before: int, cost: Cost) -> list[str]:
    """The answers since; new messages are counted, edited ones are not."""
    new = [one for one in running.channel.sent[before:] if one.address == "mary"]
    cost.shown += sum(not one.edits for one in new)
    return [one.outgoing.text.replace("\n", " ") for one in new]


def _is_asked(key: str, offered: Sequence[str]) -> bool:
    return any(one.startswith(key) if key.endswith("=") else one == key for one in offered)


def _button(asked: str, offered: Sequence[str]) -> str:
    """The button that most people tap there."""
    known = [one for one in PREFERRED if one in offered and one.startswith(asked)]
    fits = [one for one in offered if one.startswith(asked)]
    return known[0] if known else fits[min(2, len(fits) - 1)]


if __name__ == "__main__":
    typer.run(main)
