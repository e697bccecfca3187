"""A new phone for a client who is known; opened with ``client``."""

from bot.flows.changes import Audit
from bot.flows.coach.practice.invite import invitation
from bot.flows.coach.rights import client_of_turn, not_yours
from bot.flows.facts import Facts
from bot.flows.machine import Begin, Event, EventKind, Say, State, Turn, not_understood, rows_of

NAME = "coach_rebind"


def step(state: State, event: Event, facts: Facts) -> Turn:
    """Ask once, then give the code."""
    record = client_of_turn(state, event, facts)
    if record is None:
        return not_yours()
    if event.kind is EventKind.TAP and event.value == "sure":
        turn = invitation(record.person.name, record, facts)
        asked = Audit(record.id, "new_phone_asked")
        return Turn(None, says=turn.says, changes=(*turn.changes, asked))
    if event.kind is EventKind.TAP and event.value == "cancel":
        begin = Begin("coach_client", {"client": str(record.id), "page": "more"})
        return Turn(None, begin=(begin,))
    if event.kind in (EventKind.TAP, EventKind.TEXT):
        return not_understood(state)
    say = Say("coach/rebind", {"name": record.person.name}, rows=rows_of("sure", "cancel"))
    return Turn(state.at("sure", client=str(record.id)), says=(say,))
