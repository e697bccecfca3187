"""A typed answer in place of a tapped button: which of the two it was makes no difference after."""

from bot.flows.facts import Facts
from bot.flows.machine import Event, EventKind
from bot.flows.parsing import read_answer


def pressed(event: Event, question: str, facts: Facts) -> str:
    """The value of the button that was tapped or typed; other words as they were typed.

    Args:
        question: an entry of ``templates/<language>/words/answers.yaml``.
    """
    said = event.value.strip()
    if event.kind is not EventKind.TEXT:
        return said
    return read_answer(said, facts.reference.answers[question]) or said
