"""The coach writes a note about a client; opened with ``client``."""

from bot.flows.changes import AddNote
from bot.flows.coach.rights import client_of_turn, not_yours
from bot.flows.facts import Facts
from bot.flows.machine import Begin, Event, EventKind, Say, State, Turn, not_understood, rows_of

NAME = "coach_note"


def step(state: State, event: Event, facts: Facts) -> Turn:
    """Ask for the words, keep them, and go back to the notes."""
    record = client_of_turn(state, event, facts)
    if record is None:
        return not_yours()
    back = (Begin("coach_client", {"client": str(record.id), "page": "notes"}),)
    if event.kind is EventKind.TEXT and event.value.strip():
        return Turn(None, changes=(AddNote(record.id, event.value.strip()),), begin=back)
    if event.kind is EventKind.TAP and event.value == "cancel":
        return Turn(None, begin=back)
    if event.kind is EventKind.TAP:
        return not_understood(state)
    say = Say("coach/note", {"name": record.person.name}, rows=rows_of("cancel"))
    return Turn(state.at("words", client=str(record.id)), says=(say,))
