"""A week as three people typed it who had not seen the chat: polite, terse and dictating.

``typed_weeks/WHO.txt`` has lines ``DAY|WHERE|text``; WHERE is "morning" (sleep, rested, muscles,
mood, then pain, illness and anything else), "session" (a line a set) or "free".
"""

from collections.abc import Iterator, Mapping, Sequence
from functools import cache
from pathlib import Path

PEOPLE = ("polite", "terse", "dictating")
MORNING = ("sleep", "tiredness", "soreness", "mood")
"""What the first lines of a morning answer."""
FOLDER = Path(__file__).parent / "typed_weeks"

Week = Mapping[tuple[int, str], Sequence[str]]


@cache
def week_of(who: str) -> Week:
    """(day, where) -> the lines in their order."""
    week: dict[tuple[int, str], list[str]] = {}
    for line in (FOLDER / f"{who}.txt").read_text(encoding="utf-8").splitlines():
        day, where, text = line.split("|", 2)
        week.setdefault((int(day), where), []).append(text)
    return week


def lines_of(who: str, where: str) -> Iterator[str]:
    """All lines of one kind in the week."""
    for (_day, kind), lines in week_of(who).items():
        if kind == where:
            yield from lines
