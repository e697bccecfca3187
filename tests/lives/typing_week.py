"""A week lived by typing only, by three people, and by buttons only.

``python -m tests.lives.typing_week`` prints what each week cost: taps, messages typed, new messages
shown, and stumbles (an answer that was not understood). The sentences are invented.
"""

from bot.cli.start import one_thread_for_arithmetic

one_thread_for_arithmetic()

import asyncio  # noqa: E402
import itertools  # noqa: E402
import tempfile  # noqa: E402
from collections.abc import Iterator, Mapping, Sequence  # noqa: E402
from dataclasses import dataclass, field  # noqa: E402
from datetime import datetime  # noqa: E402
from pathlib import Path  # noqa: E402
from zoneinfo import ZoneInfo  # noqa: E402

import typer  # noqa: E402
from rich.console import Console  # noqa: E402
from rich.table import Table  # noqa: E402

from tests.support.practice import NEW_ZEALAND, Practice, practice  # noqa: E402
from tests.support.sessions import tap, values  # noqa: E402

EVENING = datetime(2026, 3, 2, 18, 0, tzinfo=ZoneInfo(NEW_ZEALAND))
MOST_ACTS = 60
STUMBLED = ("Sorry, I did not understand", "I could not find", "I was looking for one number")

Sentences = Mapping[str, Sequence[str]]
"""What somebody types where a button with this beginning of its value is offered, in turn."""

POLITE: Sentences = {
    "trouble=": ["Nothing at all, thank you.", "None of these today, thank you dear."],
    "sleep=": ["I slept very well, thank you.", "Rather badly, I am afraid.", "So-so, thank you."],
    "tiredness=": ["I feel fairly rested.", "A little tired, to be honest."],
    "soreness=": ["They are not sore at all.", "Just a bit stiff, thank you."],
    "stress=": ["Quite calm, thank you.", "I am a little worried about my sister."],
    "mood=": ["I am in good spirits.", "It is very good, thank you for asking."],
    "open": ["Could I see today's session, please?"],
    "start": ["Start the session, please."],
    "ready": ["I am ready, thank you."],
    "done": ["That is done now.", "All done, thank you."],
    "did=": ["I managed ten of them.", "I did twelve, thank you."],
    "ended=": ["I had little left, I think.", "I could not go on, I am sorry."],
    "left=": ["I could have done two more, I think.", "Perhaps three more, thank you."],
    "effort=": ["I would say it was about a four.", "It was easy, thank you."],
    "minutes=": ["It was about 25 minutes."],
}
TERSE: Sentences = {
    "trouble=": ["no", "none"],
    "sleep=": ["well", "bad", "ok"],
    "tiredness=": ["tired", "ok"],
    "soreness=": ["fine", "stiff"],
    "stress=": ["fine", "calm"],
    "mood=": ["good", "ok"],
    "open": ["today"],
    "start": ["start"],
    "ready": ["ready"],
    "done": ["done"],
    "did=": ["10", "all"],
    "ended=": ["little left", "could not"],
    "left=": ["2", "none"],
    "effort=": ["4", "3"],
    "minutes=": ["25"],
}
DICTATED: Sentences = {
    "trouble=": ["no nothing wrong today", "none of those comma thank you"],
    "sleep=": ["oh i slept like a log full stop", "not so well i kept waking up"],
    "tiredness=": ["well rested thanks", "im a bit tired today"],
    "soreness=": ["not a bit sore", "my muscles are a wee bit sore"],
    "stress=": ["im calm enough", "very calm thank you"],
    "mood=": ["im in good form", "grand thanks"],
    "open": ["show me todays session please"],
    "start": ["start the session"],
    "ready": ["yes im ready"],
    "done": ["done", "thats done now"],
    "did=": ["i did ten of them", "i did all of them"],
    "ended=": ["i had little left", "i could not go on"],
    "left=": ["two more", "i could have done three more"],
    "effort=": ["about four out of ten", "id say a three"],
    "minutes=": ["twenty five minutes"],
}
PEOPLE: Mapping[str, Sentences] = {
    "polite": POLITE,
    "terse": TERSE,
    "dictating": DICTATED,
    "buttons": {},
}
BUTTONS = ("trouble=nothing", "today", "start", "ready", "done", "left=3", "effort=3", "pick=leave")


@dataclass
class Cost:
    """What a week cost one person."""

    taps: int = 0
    typed: int = 0
    shown: int = 0
    sessions: int = 0
    stumbles: list[str] = field(default_factory=list)


def main() -> None:
    """Live the weeks and print what they cost."""
    asyncio.run(_main())


async def _main() -> None:
    console = Console()
    table = Table("who", "sessions", "taps", "typed", "messages", "stumbles")
    for who, sentences in PEOPLE.items():
        with tempfile.TemporaryDirectory() as home:
            async with practice(Path(home) / "home", EVENING, database="") as running:
                cost = await _week(running, sentences)
        row = (cost.sessions, cost.taps, cost.typed, cost.shown, len(cost.stumbles))
        table.add_row(who, *map(str, row))
        for said in cost.stumbles:
            console.print(f"{who}: {said}")
    console.print(table)


async def _week(running: Practice, sentences: Sentences) -> Cost:
    await running.coach("Rua")
    await running.client("Mary")
    turns = {key: itertools.cycle(said) for key, said in sentences.items()}
    cost = Cost()
    for _ in range(7):
        await running.at("07:00")
        for _ in range(MOST_ACTS):
            if "all written down" in running.last_to("mary") or not values(running):
                cost.sessions += 1
                break
            await running.wait(2)
            if not await _act(running, turns, cost):
                break
    return cost


async def _act(running: Practice, turns: Mapping[str, Iterator[str]], cost: Cost) -> bool:
    """One answer to what is open; False where nothing leads on."""
    offered = values(running)
    before = len(running.channel.sent)
    asked = next((key for key in (*POLITE, "today") if _is_asked(key, offered)), "")
    if not asked:
        return False
    if turns:
        text = next(turns["open" if asked == "today" else asked])
        if running.last_to("mary").startswith("I understand:"):
            text = "yes"
        await running.says("mary", text)
        cost.typed += 1
    else:
        text = _button(asked, offered)
        await tap(running, text)
        cost.taps += 1
    new = [one for one in running.channel.sent[before:] if one.address == "mary"]
    cost.shown += sum(not one.edits for one in new)
    if any(one.outgoing.text.startswith(STUMBLED) for one in new):
        cost.stumbles.append(f"{asked} {text!r}")
        await tap(running, _button(asked, values(running)))
        cost.taps += 1
    return True


def _is_asked(key: str, offered: Sequence[str]) -> bool:
    return any(one.startswith(key) if key.endswith("=") else one == key for one in offered)


def _button(asked: str, offered: Sequence[str]) -> str:
    """The button that most people tap there."""
    known = [one for one in BUTTONS if one in offered and one.startswith(asked)]
    fits = [one for one in offered if one.startswith(asked)]
    return known[0] if known else fits[min(2, len(fits) - 1)]


if __name__ == "__main__":
    typer.run(main)
