"""How many messages a coach of 40 clients gets in an ordinary month, and what her lists say.

``python -m tests.bench.coach_messages [--clients 40] [--days 30] [--shown 5]``. A day's list is
one message. Alerts and what follows from a client's own words are counted apart: they come at any
time, and must. Every rate below is invented, and common events are rather too many than too few.
Some train on fixed days, so that lighter weeks come. The coach marks alerts as seen in the evening,
grants holidays, pauses who is ill, ends pauses on a doctor's word after some days, renews most
clearances before they end, and ends the work with some.
"""

from bot.cli.start import one_thread_for_arithmetic

one_thread_for_arithmetic()

import asyncio  # noqa: E402
import random  # noqa: E402
from collections import Counter  # noqa: E402
from dataclasses import dataclass, field  # noqa: E402
from datetime import date, datetime, timedelta  # noqa: E402
from pathlib import Path  # noqa: E402
from statistics import median  # noqa: E402
from tempfile import TemporaryDirectory  # noqa: E402
from typing import Annotated, Any  # noqa: E402
from zoneinfo import ZoneInfo  # noqa: E402

import typer  # noqa: E402
from rich.console import Console  # noqa: E402
from rich.progress import Progress  # noqa: E402

from bot.storage.facts import StoreFacts  # noqa: E402
from bot.storage.people import get_person  # noqa: E402
from tests.doubles.record_channel import Recorded  # noqa: E402
from tests.support.facts import reference  # noqa: E402
from tests.support.practice import NEW_ZEALAND, Practice, practice  # noqa: E402
from tests.support.sessions import begin, finish, labels, values  # noqa: E402

ANSWERS_OF_DAYS = 0.85
"""Share of mornings that are answered outside a silence."""

LOW_MORNINGS = 0.08
PAINS = 1 / 40
COLDS = 1 / 90
WRITES = 1 / 60
TRAINS = 1 / 20
"""Share of days with a session (far fewer than in life: each costs some thirty taps)."""

FAILS = 1 / 3
"""Share of sessions in which the last set of each movement leaves nothing."""

SILENCES = 1 / 90
"""Share of days on which a silence of three to eight days begins."""

HOLIDAYS = 1 / 250
DIZZY = 1 / 300
"""Share of days on which an urgent sign is told; it pauses the training."""

PAUSES = 1 / 500
"""Share of days on which the coach pauses somebody who is ill."""

PAUSED_DAYS = range(3, 10)
"""After so many days she ends a pause, on a doctor's word."""

LEAVE = 1 / 1500
REGULAR = 8
"""So many clients train on Mondays, Wednesdays and Fridays."""

TRAINING_WEEKDAYS = (1, 3, 5)
RENEWED = 3 / 4
RENEWS_BEFORE = timedelta(days=3)
CLEARANCES_THAT_END = 1 / 8
"""Share of clients whose clearance ends within five weeks."""

TESTS_OLD = 1 / 4
"""Share of clients whose last home test is eleven weeks old, so that it falls due."""

MOST_QUESTIONS = 15
BEFORE_A_CHECKIN = ("It is over", "I was well, or away")
SEEN = "I have seen"
LIST = "Good morning"


@dataclass(slots=True)
class _Counted:
    """What the coach got, by day: what counts, and what comes apart from it."""

    counts: list[list[str]] = field(default_factory=list)
    apart: list[int] = field(default_factory=list)
    happened: Counter[str] = field(default_factory=Counter)


def main(
    clients: Annotated[int, typer.Option(help="How many clients.")] = 40,
    days: Annotated[int, typer.Option(help="How many days.")] = 30,
    seed: Annotated[int, typer.Option(help="The same seed gives the same month.")] = 1,
    shown: Annotated[int, typer.Option(help="The last so many days are printed.")] = 5,
) -> None:
    """Count by day what goes out to the coach, and print the last days."""
    counted = asyncio.run(_month(clients, days, random.Random(seed)))
    console = Console(highlight=False, markup=False, width=100)
    numbers = [len(one) for one in counted.counts]
    for number in range(max(0, days - shown), days):
        for text in counted.counts[number]:
            words, lines = len(text.split()), len(text.splitlines())
            console.print(f"--- day {number + 1}: {lines} lines, {words} words\n{text}\n")
    console.print(f"{clients} clients, {days} days: {dict(counted.happened)}")
    console.print(
        f"messages a day outside alerts and words: highest {max(numbers)}, "
        f"mean {sum(numbers) / days:.1f}; {dict(sorted(Counter(numbers).items()))}"
    )
    console.print(f"alerts and words a day: mean {sum(counted.apart) / days:.1f}")
    lists = [text for day in counted.counts for text in day if text.startswith(LIST)]
    for what, many in (("lines", str.splitlines), ("words", str.split)):
        found = [len(many(text)) for text in lists]
        console.print(
            f"{what} of a list: median {median(found):.0f}, highest {max(found)}; "
            f"all: {' '.join(map(str, found))}"
        )


async def _month(clients: int, days: int, chance: random.Random) -> _Counted:
    start = datetime(2026, 3, 2, 5, 0, tzinfo=ZoneInfo(NEW_ZEALAND))
    counted = _Counted()
    with TemporaryDirectory() as home, Progress(transient=True) as progress:
        bar = progress.add_task("days", total=days)
        async with practice(Path(home), start, database="") as running:
            await running.coach("Rua")
            await running.says("rua", "settings")
            await running.taps("rua", "Time of my list", "07:00")
            names = [f"Client{number}" for number in range(clients)]
            for name in names:
                await running.client(name, **_told(chance, start.date()))
            run = _Run(
                running, chance, counted.happened, dict.fromkeys(names, 0), set(names[:REGULAR])
            )
            for _ in range(days):
                before = len(running.channel.sent)
                own = await _day(run)
                told = [
                    one
                    for number, one in enumerate(running.channel.sent[before:], before)
                    if one.address == "rua" and not one.edits and number not in own
                ]
                apart = [one for one in told if _is_apart(one)]
                counted.counts.append([one.outgoing.text for one in told if one not in apart])
                counted.apart.append(len(apart))
                progress.advance(bar)
    return counted


def _told(chance: random.Random, today: date) -> dict[str, Any]:
    """What makes a clearance end or a home test fall due within the month."""
    told: dict[str, Any] = {"cleared_on": today.isoformat()}
    if chance.random() < CLEARANCES_THAT_END:
        ends = today + timedelta(days=chance.randrange(3, 35))
        told["cleared_until"] = ends.isoformat()
    if chance.random() < TESTS_OLD:
        on = (today - timedelta(days=chance.randrange(70, 84))).isoformat()
        told["home_tests"] = [{"test": "chair_stand", "on": on, "result": 9.0, "arms_used": False}]
    return told


def _is_apart(one: Recorded) -> bool:
    """Alerts and a client's own words, and what follows from them."""
    offers = [choice.label for row in one.outgoing.choices for choice in row]
    text = one.outgoing.text
    return (
        text.startswith("!") or "writes:" in text or any(label.startswith(SEEN) for label in offers)
    )


@dataclass(slots=True)
class _Run:
    """A practice that lives.

    Attributes:
        silent: how many days more each client says nothing.
        regular: who trains on fixed days.
        paused: the day on which the coach ends each pause.
        decided: clearances of which she has decided whether to renew them.
    """

    practice: Practice
    chance: random.Random
    happened: Counter[str]
    silent: dict[str, int]
    regular: set[str]
    paused: dict[str, date] = field(default_factory=dict)
    decided: set[str] = field(default_factory=set)

    @property
    def today(self) -> date:
        return self.practice.clock.now().astimezone(ZoneInfo(NEW_ZEALAND)).date()

    def rarely(self, share: float, what: str) -> bool:
        """Whether something happens today; counts it."""
        if self.chance.random() >= share:
            return False
        self.happened[what] += 1
        return True


async def _day(run: _Run) -> set[int]:
    """The morning's list at seven and the day after it; gives what only answers the coach."""
    running, chance = run.practice, run.chance
    begins = len(running.channel.sent)
    await running.at("07:30")
    own: set[int] = set()
    for name in list(run.silent):
        who = name.lower()
        own |= await _coach_sees_to(run, name)
        if name not in run.silent:
            continue
        if run.silent[name]:
            run.silent[name] -= 1
            continue
        if run.rarely(SILENCES, "silence"):
            run.silent[name] = chance.randrange(3, 9)
            continue
        if name not in run.paused and run.rarely(HOLIDAYS, "holiday"):
            own |= await _coach(running, f"={who}", "More", "Holiday", "One week")
            run.silent[name] = 7
            continue
        trains = name in run.regular and run.today.isoweekday() in TRAINING_WEEKDAYS
        if chance.random() < ANSWERS_OF_DAYS:
            await _morning(running, who, chance, run.happened, trains=trains)
        if run.rarely(WRITES, "message"):
            await running.says(who, "message")
            await running.says(who, "Can we talk about my plan on Friday?")
        if name not in run.paused and run.rarely(DIZZY, "urgent"):
            await running.says(who, "I feel dizzy")
    await running.at("20:00")
    return own | await _marked_as_seen(running, begins)


async def _coach_sees_to(run: _Run, name: str) -> set[int]:
    """What the coach does about one client this morning, beside reading."""
    running, who = run.practice, name.lower()
    ends = run.paused.get(name)
    if ends is not None:
        if run.today < ends:
            return set()
        del run.paused[name]
        run.happened["pause ended"] += 1
        return await _coach(running, f"={who}", "End the pause", "A doctor", "=Dr Singh, today")
    if run.rarely(LEAVE, "left"):
        del run.silent[name]
        return await _coach(running, f"={who}", "More", "Client leaves", "Yes")
    if run.rarely(PAUSES, "pause"):
        run.paused[name] = run.today + timedelta(days=run.chance.choice(PAUSED_DAYS))
        return await _coach(running, f"={who}", "Pause training", "Ill", "Until I end it")
    until, held = _stands(running, who)
    if held:
        run.happened["paused by a sign"] += 1
        run.paused[name] = run.today + timedelta(days=run.chance.choice(PAUSED_DAYS))
        return set()
    if until is None or name in run.decided or until - run.today > RENEWS_BEFORE:
        return set()
    run.decided.add(name)
    if run.chance.random() >= RENEWED:
        return set()
    run.happened["renewed"] += 1
    return await _clears(running, who)


def _stands(running: Practice, who: str) -> tuple[date | None, bool]:
    """Until when somebody is cleared, and whether the training is paused."""
    with running.app.database.unit() as unit:
        person = get_person(unit, running.ids[who])
        facts = StoreFacts(unit, person, running.clock.now(), reference())
        clearance = facts.client(person.id).client.clearance
        until = clearance.until if clearance is not None else None
        return until, facts.hold(person.id) is not None


async def _clears(running: Practice, who: str) -> set[int]:
    """Clear somebody again: what is not known stays so, and a doctor's word is there."""
    own = await _coach(running, f"={who}")
    again = ("Clear again", "“")
    own |= await _coach(
        running, next(one for one in labels(running, "rua") if one.startswith(again))
    )
    for _ in range(MOST_QUESTIONS):
        offered = labels(running, "rua")
        known = ("6 months", "Not known", "None of these", "Do not ask")
        found = next((one for one in known if one in offered), "=Dr Singh, by letter, today")
        own |= await _coach(running, found)
        if found == "6 months":
            return own
    raise AssertionError(f"{who} was not cleared again: {labels(running, 'rua')}")


async def _morning(
    running: Practice,
    who: str,
    chance: random.Random,
    happened: Counter[str],
    *,
    trains: bool = False,
) -> None:
    event = chance.choices(
        ("good", "pain", "cold", "low", "session"),
        (1 - PAINS - COLDS - LOW_MORNINGS - TRAINS, PAINS, COLDS, LOW_MORNINGS, TRAINS),
    )[0]
    event = "session" if trains and event == "good" else event
    happened[event] += 1
    if event == "session":
        failed = chance.random() < FAILS
        happened["failed"] += failed
        await _session(running, who, 0 if failed else 3)
        return
    await running.says(who, "check-in")
    await _goes_on(running, who)
    if "None of these" not in labels(running, who):
        await _asked(running, who, chance)
    first = {"pain": "New pain", "cold": "Ill"}.get(event, "None of these")
    if "None of these" in labels(running, who):
        await running.taps(who, first)
    if event == "cold" and any(one.startswith("A cold") for one in labels(running, who)):
        await running.taps(who, "A cold")
    await _asked(running, who, chance, "2" if event == "low" else "4")


async def _goes_on(running: Practice, who: str) -> None:
    """Say that what was wrong is over, or how a long silence was: both stand before a check-in."""
    for _ in range(MOST_QUESTIONS):
        over = [one for one in labels(running, who) if one in BEFORE_A_CHECKIN]
        if not over:
            return
        await running.taps(who, over[0])
        if "None of these" not in labels(running, who):
            await running.says(who, "check-in")


async def _asked(running: Practice, who: str, chance: random.Random, score: str = "4") -> None:
    """Answer what is asked until the check-in is over or its first question stands there."""
    for _ in range(MOST_QUESTIONS):
        offered = labels(running, who)
        kept = values(running, who)
        if "None of these" in offered or "◀ Back" not in offered:
            return
        if any(value.endswith(f"={score}") and "=" in value for value in kept) and len(kept) < 8:
            await running.taps(who, score)
        else:
            rest = [one for one in offered if not one.startswith(("◀", "!", "Yes", "More"))]
            await running.taps(who, "No" if "No" in rest else chance.choice(rest))


async def _session(running: Practice, who: str, left: int) -> None:
    """A whole session; one that the day does not offer is left."""
    try:
        await begin(running, who)
        await finish(running, who, left=left)
    except AssertionError:
        await running.says(who, "stop")


async def _coach(running: Practice, *acts: str) -> set[int]:
    """The coach does something; gives the numbers of what she got by it."""
    before = len(running.channel.sent)
    for act in acts:
        await (running.says("rua", act[1:]) if act[0] == "=" else running.taps("rua", act))
    return set(range(before, len(running.channel.sent)))


async def _marked_as_seen(running: Practice, begins: int) -> set[int]:
    """In the evening she says of each alert of the day that she has seen it."""
    before = len(running.channel.sent)
    for one in [one for one in running.channel.sent[begins:] if one.address == "rua"]:
        for choice in (choice for row in one.outgoing.choices for choice in row):
            if choice.label.startswith(SEEN):
                await running.taps_value("rua", choice.value, one.edits or one.platform_id)
    return set(range(before, len(running.channel.sent)))


if __name__ == "__main__":
    typer.run(main)
