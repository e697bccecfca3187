"""What is on its way while its silence is watched, and what is said where it ends by an answer."""

from bot.flows.facts import Facts
from bot.flows.machine import Say

ENDED = ("session", "walk", "test")
"""What can be ended, of :meth:`bot.flows.facts.Facts.watched`."""


def watch_ends(facts: Facts) -> tuple[Say, ...]:
    """What is said where the client's own answer ends what was on its way, and the watch over it.

    Nothing where nothing was. Asked before the change that ends it.
    """
    doing = facts.watched(facts.me.id)
    return (Say("feeling/watch_ends", {"doing": doing, "stop": True}),) if doing in ENDED else ()
