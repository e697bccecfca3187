"""When somebody who does not answer is written to: less and less, and never the same words twice.

Days are counted from the last message or tap of any kind. Whoever told of a sign or an illness
before falling silent is asked each morning of the first week as before, and the coach hears of it
on the second day.
All figures are ours.
"""

from enum import StrEnum

FIRST_DAY, NEXT_DAY, LAST_ASKED = 1, 2, 4
"""Days of silence with a prompt; a reminder comes on the first alone."""

FIRST_NOTE, LAST_WEEKLY_NOTE = 8, 29
"""A note after a week, then one a week."""

WEEK, MONTH = 7, 30


class SilentMorning(StrEnum):
    """What a silent morning brings."""

    PROMPT_AND_REMINDER = "prompt_and_reminder"
    PROMPT = "prompt"
    NOTE = "note"
    NOTHING = "nothing"


def morning_after(days: int, *, told: bool) -> SilentMorning:
    """What comes on this morning.

    Args:
        days: since somebody was heard of last; 0 and 1 are no silence.
        told: a sign or an illness was told before.
    """
    if days <= FIRST_DAY or (told and days < FIRST_NOTE):
        return SilentMorning.PROMPT_AND_REMINDER
    if days in (NEXT_DAY, LAST_ASKED):
        return SilentMorning.PROMPT
    if days < FIRST_NOTE:
        return SilentMorning.NOTHING
    every, since = (WEEK, FIRST_NOTE) if days <= LAST_WEEKLY_NOTE else (MONTH, LAST_WEEKLY_NOTE)
    return SilentMorning.NOTE if (days - since) % every == 0 else SilentMorning.NOTHING
