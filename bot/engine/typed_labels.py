"""The words of a button that opens a screen, typed in place of a tap."""

from datetime import datetime, timedelta

from bot.engine.screens import split_tap
from bot.flows.client.buttons import OpenHandler
from bot.flows.commands import commands_of
from bot.flows.facts import Person
from bot.flows.machine import Begin
from bot.flows.parsing import plain_words
from bot.storage.outbox import choices_lately
from bot.storage.people import Address
from bot.storage.unit import UnitOfWork

IN_SIGHT = timedelta(days=1)
"""So long a button is taken to be meant by its words (ours)."""


def opened_by_label(
    text: str, me: Person, unit: UnitOfWork, at: Address | None, now: datetime
) -> Begin | None:
    """What a button opens whose words were typed; None where no such button is in sight.

    Only buttons that ask for a screen: what else a button does is read where it is asked.
    """
    said = plain_words(text)
    if not said or at is None:
        return None
    for choice in choices_lately(unit, me.id, at, now - IN_SIGHT):
        handler, ref, _ = split_tap(choice.value)
        if handler == OpenHandler.NAME and plain_words(choice.label) == said:
            return commands_of(me.role).get(ref)
    return None
