"""Something was said to be wrong, and it is not told yet what: that is asked before training."""

from bot.flows.machine import Begin

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
