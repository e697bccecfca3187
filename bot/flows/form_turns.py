"""What a conversation does with an event that its form has taken."""

from collections.abc import Callable

from bot.flows.forms import FormOutcome, Taken
from bot.flows.machine import State, Turn, not_understood


def turn_of(
    taken: Taken,
    state: State,
    *,
    answered: Callable[[], Turn],
    back: Callable[[], Turn],
    ask: Callable[[], Turn],
) -> Turn:
    """The turn for an outcome; a second tap changes nothing, and other words are not the form's.

    Args:
        state: before the event.
        answered: an answer was kept.
        back: the question before is wanted.
        ask: the question is to be shown, again or with other ticks.
    """
    match taken.outcome:
        case FormOutcome.ANSWERED:
            return answered()
        case FormOutcome.BACK:
            return back()
        case FormOutcome.ASK:
            return ask()
        case FormOutcome.REPEATED:
            return Turn(state)
        case FormOutcome.NOT_MINE:
            return not_understood(state)
