"""What is asked before training: what is wrong, and whether news of the health was heard right."""

from bot.flows.commands import HEALTH_FLOW
from bot.flows.machine import Begin
from bot.flows.record.planning import Gate

FLOW = "feeling"
"""The conversation that asks (:mod:`bot.flows.client.feeling`)."""

ANEW, THEN = "anew", "then"
"""Whether it is asked anew what is wrong; and the conversation that was asked for meanwhile."""


def asked_first(then: str) -> Begin:
    """What is wrong is asked before anything else is begun.

    Args:
        then: the conversation that was asked for; whoever is fine after all gets it.
    """
    return Begin(FLOW, {ANEW: True, THEN: then})


STANDS = "stands"
"""Asks the open question of the health's news again, where it stands."""


def asked_before(gate: Gate, then: str) -> Begin | None:
    """What is asked first; None where nothing is.

    Args:
        gate: what stands between a client and the session.
        then: the conversation that was asked for.
    """
    if gate is Gate.SAID_UNWELL:
        return asked_first(then)
    return Begin(HEALTH_FLOW, {STANDS: True}) if gate is Gate.NEWS_HEARD else None
