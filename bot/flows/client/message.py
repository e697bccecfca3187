"""A message from the client to the coach."""

from bot.flows.client.buttons import hand_to_coach
from bot.flows.commands import screen_named
from bot.flows.facts import Facts
from bot.flows.machine import Event, EventKind, Say, State, Turn, rows_of

NAME = "message"


def step(state: State, event: Event, facts: Facts) -> Turn:
    """Ask for the words, then hand them on; the name of a screen opens it instead."""
    screen = screen_named(event.value, facts) if event.kind is EventKind.TEXT else None
    if screen is not None:
        return Turn(None, begin=(screen,))
    if event.kind is EventKind.TEXT and event.value.strip():
        return hand_to_coach(event.value.strip(), facts)
    if event.kind is EventKind.TAP and event.value == "cancel":
        return Turn(None, says=(Say("menu/cancelled"),))
    if event.kind is EventKind.DUE:
        return Turn(None)
    asked = Say("menu/ask_message", rows=rows_of("cancel"))
    return Turn(state.at("words"), says=(asked,))
