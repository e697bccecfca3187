"""What client and coach wrote to each other, and when the coach reads messages."""

from collections.abc import Sequence
from datetime import timedelta
from typing import TypedDict

from bot.flows.facts import Facts, Note
from core.vocabulary import PersonId

ANSWERED_WITHIN = timedelta(days=14)
"""So long the coach's last words stand above what the client writes (ours)."""

LONGEST_QUOTE = 160


class OfficeHours(TypedDict):
    """When messages are read, for the templates.

    Attributes:
        of: the coach's name.
        days: ISO weekdays.
        other_clock: the client's clock shows another time than the coach's.
        open: messages are read now.
    """

    of: str
    days: list[int]
    opens: str
    closes: str
    other_clock: bool
    open: bool


def thread_of(client_id: PersonId, facts: Facts) -> Sequence[Note]:
    """The messages between a client and the coaches, newest first."""
    return [note for note in facts.notes(client_id) if note.is_message(client_id)]


def answers_to(client_id: PersonId, facts: Facts) -> Note | None:
    """The words of a coach or stand-in that the client answers now; None where they are older."""
    last = next(iter(thread_of(client_id, facts)), None)
    if last is None or not last.to_client or facts.now - last.at > ANSWERED_WITHIN:
        return None
    return last


def shortened(text: str) -> str:
    """The beginning of a text, in one line, cut between two words."""
    line = " ".join(text.split())
    if len(line) <= LONGEST_QUOTE:
        return line
    return line[:LONGEST_QUOTE].rpartition(" ")[0] + " …"


def office_hours(client_id: PersonId, facts: Facts) -> OfficeHours | None:
    """When the client's coach reads messages; None where she has set no hours."""
    record = facts.client(client_id)
    coach = facts.person(record.coach_id)
    desk = facts.desk(coach.id)
    if desk.office_from is None or desk.office_until is None:
        return None
    here, there = record.person.local(facts.now), coach.local(facts.now)
    return {
        "of": coach.name,
        "days": sorted(desk.office_days),
        "opens": desk.office_from.strftime("%H:%M"),
        "closes": desk.office_until.strftime("%H:%M"),
        "other_clock": here.utcoffset() != there.utcoffset(),
        "open": desk.is_open(there),
    }
