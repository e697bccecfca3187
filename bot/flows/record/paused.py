"""Why training is paused, as far as the client may read it on a phone that others may hold too."""

from datetime import date

from bot.flows.facts import ClientRecord, Facts
from core.vocabulary import PersonId, Sign

PAUSE_UNTIL = "pause_until"
"""Profile key: the day on which the coach looks at a pause of hers again, ISO."""

PRIVATE = frozenset({Sign.ABUSE, Sign.SELF_HARM})
"""Told to the coach alone: no page, answer or message on that phone names them."""


def signs_behind(client_id: PersonId, facts: Facts) -> list[str]:
    """The warning signs that training waits for; none where any of them is private."""
    hold, on = facts.hold(client_id), facts.open_alert(client_id)
    signs = hold.signs if hold is not None else on.signs if on is not None else ()
    if PRIVATE & set(signs):
        return []
    return [sign.value for sign in signs if sign is not Sign.UNSURE]


def pause_until(record: ClientRecord) -> date | None:
    """The day until which the coach has paused the training; only while a pause is on."""
    kept = record.answers.get(PAUSE_UNTIL)
    return date.fromisoformat(kept) if kept else None
