"""Buttons about one client that stay good: card, answer, cleared; ``ref`` is the client."""

from bot.flows.coach.rights import client_for_me, not_yours
from bot.flows.facts import Facts
from bot.flows.machine import Begin, Turn
from core.vocabulary import Role

NAME = "client"
ROLE = Role.COACH
WRITE = "write"
"""Begins the button by which one of several clients on a screen is written to."""


def tap(ref: str, value: str, facts: Facts) -> Turn:
    """Open the card, a message to the client, or the steps of "cleared to start"."""
    if client_for_me(ref, facts) is None:
        return not_yours()
    if value == "clear":
        return Turn(None, begin=(Begin("coach_start", {"client": ref}),))
    if value == "answer" or value.startswith(WRITE):
        return Turn(None, begin=(Begin("coach_answer", {"client": ref}),))
    return Turn(None, begin=(Begin("coach_client", {"client": ref}),))
