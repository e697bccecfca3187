"""Why training is paused, as far as the client may read it on a phone that others may hold too."""

from bot.flows.facts import Facts
from core.vocabulary import PersonId, Sign

PRIVATE = frozenset({Sign.ABUSE, Sign.SELF_HARM})
"""Told to the coach alone: no page, answer or message on that phone names them."""


def signs_behind(client_id: PersonId, facts: Facts) -> list[str]:
    """The warning signs that training waits for; none where any of them is private."""
    hold, on = facts.hold(client_id), facts.open_alert(client_id)
    signs = hold.signs if hold is not None else on.signs if on is not None else ()
    if PRIVATE & set(signs):
        return []
    return [sign.value for sign in signs if sign is not Sign.UNSURE]
