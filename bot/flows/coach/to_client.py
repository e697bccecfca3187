"""What a coach's tap says to a client: nothing that lies milder on top of a warning or a pause.

What she has decided is kept all the same, and she reads that the client was not told. Her own words
to a client go out always; so does what keeps them safe.
"""

from bot.flows.facts import ClientRecord, Facts
from bot.flows.machine import Say
from bot.flows.record.planning import is_paused, is_warned


def tells(say: Say, record: ClientRecord, facts: Facts, *, of_training: bool) -> tuple[Say, ...]:
    """What the client hears; in its place, what the coach reads where it is not said now.

    Args:
        say: to the client.
        of_training: it speaks of plans or days, so that it is not said during a mere pause either.
    """
    if not keeps_back(record, facts, of_training=of_training):
        return (say,)
    return (not_told(record),)


def keeps_back(record: ClientRecord, facts: Facts, *, of_training: bool) -> bool:
    """Whether nothing of the kind is said to the client now."""
    warned = is_warned(record, facts)
    return warned or (of_training and is_paused(record, facts))


def not_told(record: ClientRecord, *, asks: bool = False) -> Say:
    """What the coach reads; ``asks``: it was a question, which has not been put."""
    return Say("coach/not_told", {"name": record.person.name, "asks": asks})
