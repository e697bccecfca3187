"""The coach ends the work with a client; opened with ``client``."""

from bot.flows.changes import Change, Leave
from bot.flows.client.feeling import untold
from bot.flows.coach.rights import client_of_turn, not_yours
from bot.flows.facts import Facts
from bot.flows.machine import Begin, Event, EventKind, Say, State, Turn, not_understood, rows_of
from bot.flows.record.planning import is_warned
from bot.messages import Kind

NAME = "coach_leave"


def step(state: State, event: Event, facts: Facts) -> Turn:
    """Ask once; the client is told that no plan comes any more."""
    record = client_of_turn(state, event, facts)
    if record is None:
        return not_yours()
    values = {"name": record.person.name, "open_alert": facts.open_alert(record.id) is not None}
    if event.kind is EventKind.TAP and event.value == "sure":
        named = {"coach_name": facts.me.name, "warned": is_warned(record, facts)}
        told = Say("join/coach_ended_it", named, to=record.id, kind=Kind.PROMPT)
        says = (Say("coach/client_left", values), told)
        changes: tuple[Change, ...] = (*untold(record.id, facts), Leave(record.id))
        return Turn(None, says=says, changes=changes, begin=(Begin("coach_clients"),))
    if event.kind is EventKind.TAP and event.value == "cancel":
        begin = Begin("coach_client", {"client": str(record.id), "page": "more"})
        return Turn(None, begin=(begin,))
    if event.kind in (EventKind.TAP, EventKind.TEXT):
        return not_understood(state)
    say = Say("coach/leave", values, rows=rows_of("sure", "cancel"))
    return Turn(state.at("sure", client=str(record.id)), says=(say,))
