"""Each job of a coach between two sessions, done in her chat, with the taps and words it takes.

``python -m tests.bench.coach_jobs`` walks them over the real engine and prints a table (Markdown).
A tap and a line that is typed count one each; what the chat shows last must hold the words given,
else the job is printed as not done and the command fails. The common ten are counted by
``tests/scenarios/test_common_jobs.py``.
"""

from bot.cli.start import one_thread_for_arithmetic

one_thread_for_arithmetic()

import asyncio  # noqa: E402
from collections.abc import Sequence  # noqa: E402
from dataclasses import dataclass  # noqa: E402
from datetime import datetime  # noqa: E402
from pathlib import Path  # noqa: E402
from tempfile import TemporaryDirectory  # noqa: E402
from typing import Any  # noqa: E402
from zoneinfo import ZoneInfo  # noqa: E402

import typer  # noqa: E402
from rich.console import Console  # noqa: E402

from tests.support.practice import NEW_ZEALAND, Practice, practice  # noqa: E402

START = datetime(2026, 3, 2, 5, 0, tzinfo=ZoneInfo(NEW_ZEALAND))


@dataclass(frozen=True, slots=True)
class Job:
    """A job.

    Attributes:
        acts: labels of buttons by their beginning; "=" begins what is typed, "*" the first
            button that begins so and is no way out.
        shows: part of what the coach sees at the end.
        before: what a client does first; not counted.
    """

    name: str
    acts: Sequence[str]
    shows: str
    before: Sequence[tuple[str, str]] = ()


CARD = "=mary"
JOBS: Sequence[Job] = (
    Job("read the day's list", (), "Good morning, Rua"),
    Job("find a client by part of a name", ("=ma",), "Emergency"),
    Job(
        "open the card from the list",
        (
            "My clients",
            "*(",
        ),
        "Emergency",
    ),
    Job("see an alert", ("I have seen this",), "seen", (("mary", "I feel dizzy"),)),
    Job("answer from the alert", ("Write to them", "=I call you at ten"), "I pass it on"),
    Job("end a pause", (CARD, "End the pause", "A doctor", "=Dr Singh, today"), "pause ended"),
    Job("answer from the card", (CARD, "Write to them", "=See you on Friday"), "I pass it on"),
    Job("ease a day", (CARD, "Change the plan", "Ease today"), "Saved. I tell Mary."),
    Job("undo it", ("Undo the last change",), "Saved. I tell Mary."),
    Job(
        "no harder than a move for a week",
        (CARD, "Change the plan", "No harder than", "Squat", "*", "One week"),
        "no harder than",
    ),
    Job(
        "fix a move for a week",
        (CARD, "Change the plan", "Pick a move", "Push", "*", "One week"),
        "• Push: ",
    ),
    Job(
        "leave a move out for a week",
        (CARD, "Change the plan", "Leave a move out", "Pull", "One week"),
        "Pull: left out until",
    ),
    Job("choose a day's movements", (CARD, "Plan of the week", "Mon", "*"), "set by you"),
    Job(
        "order and sets of a day",
        (CARD, "Plan of the week", "Mon", "Order and sets", "*", "2 sets"),
        ": 2 sets",
    ),
    Job("minutes of a session", (CARD, "Plan of the week", "25 min"), "25 minutes a session"),
    Job(
        "training days",
        (CARD, "Plan of the week", "Training days", "Mon, Wed, Fri"),
        "Training days: Monday; Wednesday; Friday",
    ),
    Job("copy a plan", (CARD, "Plan of the week", "Take over a week", "*Nan"), "(set by you)"),
    Job(
        "limits after an operation",
        (CARD, "Limits and aim", "Set a highest rung", "Squat", "*"),
        "Highest rung set for: squat",
    ),
    Job("correct an answer", (CARD, "Answers", "*", "Phone", "=021 555 777"), "021 555 777"),
    Job("a note", (CARD, "Notes", "Write a note", "=Likes the morning"), "Likes the morning"),
    Job("find a note", (CARD, "Notes", "Find or change", "=morning"), "morning"),
    Job(
        "what was she told, word for word",
        (CARD, "Messages", "What was Mary told"),
        "word for word",
    ),
    Job("a review for the client", (CARD, "Letters", "For Mary, four weeks"), "A letter for Mary"),
    Job(
        "a letter for the doctor",
        (CARD, "Letters", "Mary said yes to me", "For the doctor, four"),
        "doctor",
    ),
    Job("export as a table", (CARD, "Letters", "Table of everything"), "table"),
    Job("ask for a home test", (CARD, "Home tests", "30-second chair", "Yes, ask"), "ask"),
    Job("holiday", (CARD, "More", "Holiday", "One week"), "Mary: away"),
    Job("back from the holiday", (CARD, "More", "Holiday", "Back now"), "Mary: lighter plan"),
    Job("pause until a date", (CARD, "Pause training", "Ill", "One week"), "Mary: paused"),
    Job(
        "clear again",
        ("=nan", "Clear again", "=Dr Singh, by letter, today", "6 months"),
        "Nan is cleared to start",
    ),
    Job(
        "clear a new client",
        ("=ola", "“Ola” and 111", "=Dr Singh, by letter, today", "6 months"),
        "Ola is cleared to start",
    ),
    Job("hand over to another coach", (CARD, "More", "Another coach", "Sam"), "I ask Mary"),
    Job("invite, and copy the link", ("Invite", "=Hemi"), "An invitation for Hemi"),
    Job("withdraw an invitation", ("Invite", "Take back: Hemi"), "Hemi is good no more"),
    Job("office hours", ("My settings", "When I read", "=9 to 5:30", "Monday to Friday"), "09:00"),
    Job("quiet hours", ("My settings", "Quiet hours", "20:00"), "20:00"),
    Job(
        "away dates", ("My settings", "When I am away", "Tomorrow", "One week"), "You are away from"
    ),
    Job(
        "which messages come",
        ("My settings", "Which messages", "Home tests"),
        "Home tests: on the list",
    ),
    Job("stand-in", ("My settings", "Stand-in", "Sam"), "Stand-in: Sam"),
    Job(
        "end the work with a client",
        ("=nan", "More", "Client leaves", "Yes"),
        "The work with Nan has ended",
    ),
    Job("bring a client back", ("My clients", "Who has left", "*Nan", "Bring back", "Yes"), "Nan"),
)


def main() -> None:
    """Print the table; exit 1 where a job could not be done."""
    rows = asyncio.run(_walk())
    console = Console(highlight=False, markup=False, soft_wrap=True)
    console.print("| job | taps and words | of them typed | shown at the end |")
    console.print("|---|---|---|---|")
    for job, said in rows:
        done = job.shows.casefold() in said.casefold()
        typed = sum(act.startswith("=") for act in job.acts)
        line = " ".join(said.split())[:160].replace("|", "/")
        console.print(
            f"| {job.name} | {len(job.acts) if done else 'NOT DONE'} | {typed} | {line} |"
        )
    if not all(job.shows.casefold() in said.casefold() for job, said in rows):
        raise typer.Exit(1)


async def _walk() -> Sequence[tuple[Job, str]]:
    with TemporaryDirectory() as home:
        async with practice(Path(home), START, database="") as running:
            await running.coach("Rua")
            await running.coach("Sam")
            confirmed: dict[str, Any] = {
                "number_confirmed": True,
                "name_confirmed": True,
                "fitness": "usual",
            }
            for name in ("Mary", "Nan"):
                await running.client(name, **confirmed)
            await running.client("Ola", cleared=False, fitness="usual")
            await running.says("rua", "settings")
            await running.taps("rua", "Time of my list", "07:00")
            await running.at("07:30")
            await running.good_morning("mary")
            return [(job, await _done(running, job)) for job in JOBS]


async def _done(running: Practice, job: Job) -> str:
    """What the coach saw while doing it; what stood in the way where it could not be done."""
    if not job.acts:
        return running.last_to("rua")
    for who, words in job.before:
        await running.says(who, words)
    if job.acts[0][0] != "=" and job.acts[0] in ("My clients", "Invite", "My settings"):
        await running.says("rua", "menu")
    try:
        for act in job.acts:
            before = len(running.channel.sent)
            if act.startswith("="):
                await running.says("rua", act[1:])
            else:
                await running.taps("rua", _first(running, act))
    except AssertionError as error:
        return f"stopped: {error}"
    found = [one for one in running.channel.sent[before:] if one.address == "rua"]
    return "\n".join(one.outgoing.text for one in found)


def _first(running: Practice, act: str) -> str:
    """The label to tap: the first that is none of the ways out where only "*" is given."""
    if not act.startswith("*"):
        return act
    shown = running.newest_buttons("rua").outgoing.choices
    labels = [choice.label for row in shown for choice in row]
    out = ("Back", "Cancel", "Card", "All ", "◀", "Undo", "Work it out")
    fitting = [one for one in labels if one.startswith(act[1:]) and not one.startswith(out)]
    assert fitting, f"no button {act!r} among {labels}"
    return fitting[0]


if __name__ == "__main__":
    typer.run(main)
