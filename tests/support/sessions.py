"""A client who goes through a session of the chat by its buttons, whatever they ask."""

from collections.abc import Callable
from typing import Any

from tests.support.practice import Practice

MOST_TAPS = 120


def labels(practice: Practice, who: str = "mary") -> list[str]:
    """The labels of the newest buttons of a chat."""
    return [c.label for row in practice.newest_buttons(who).outgoing.choices for c in row]


def values(practice: Practice, who: str = "mary") -> list[str]:
    """What the newest buttons of a chat send back, without the conversation they belong to."""
    rows = practice.newest_buttons(who).outgoing.choices
    return [c.value.rpartition(".")[2] for row in rows for c in row]


async def tap(practice: Practice, value: str, who: str = "mary") -> list[str]:
    """Tap the newest button that sends back ``value``, if need be behind "More"."""
    if value not in values(practice, who) and "more" in values(practice, who):
        await tap(practice, "more", who)
    shown = practice.newest_buttons(who)
    found = [
        c.value for row in shown.outgoing.choices for c in row if c.value.endswith(f".{value}")
    ]
    assert found, f"no button {value!r} among {values(practice, who)}"
    return await practice.taps_value(who, found[0], shown.edits or shown.platform_id)


async def begin(practice: Practice, who: str = "mary") -> None:
    """From the check-in that is open to the first movement."""
    await practice.good_morning(who)
    await practice.says(who, "/today")
    await practice.taps(who, "Start", "I am ready")
    while "done" in values(practice, who):
        await practice.wait(3)
        await tap(practice, "done", who)


async def do_movement(
    practice: Practice, who: str = "mary", *, left: int = 3, minutes: float = 3
) -> list[str]:
    """Do the movement that is shown as planned, and tell how many were left."""
    planned = [value for value in values(practice, who) if value.startswith("did=")]
    await practice.wait(minutes)
    await tap(practice, planned[2], who)
    return await tap(practice, f"left={left}", who)


async def finish(
    practice: Practice,
    who: str = "mary",
    *,
    left: int | Callable[[int], int] = 3,
    effort: int = 4,
) -> list[str]:
    """From the movement that is shown to the end; gives what is said last."""
    said: list[str] = []
    number = 0
    for _ in range(MOST_TAPS):
        offered = values(practice, who)
        if any(value.startswith("did=") for value in offered):
            number += 1
            told = left if isinstance(left, int) else left(number)
            said = await do_movement(practice, who, left=told)
        elif "done" in offered:
            await practice.wait(3)
            said = await tap(practice, "done", who)
        elif f"effort={effort}" in offered:
            said = await tap(practice, f"effort={effort}", who)
        elif any(value.startswith("minutes=") for value in offered):
            return await tap(practice, offered[2], who)
        else:
            break
    raise AssertionError(f"the session does not end: {said}")


async def whole_session(practice: Practice, who: str = "mary", **told: Any) -> list[str]:
    """The morning at 07:00 and all of the day's session; gives the last words."""
    await practice.at("07:00")
    await begin(practice, who)
    return await finish(practice, who, **told)
