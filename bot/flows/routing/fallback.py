"""Words that meant nothing: one kind sentence, and what can be done instead."""

from bot.flows.facts import Facts
from bot.flows.machine import Button, Say
from bot.flows.own_words import is_question
from bot.flows.safety.answers import speaks_of_the_body
from core.vocabulary import Role

LONG_TEXT = 600
"""Characters; a text this long is a letter rather than an answer."""


def not_understood(
    text: str, row_id: int, facts: Facts, *, asking: bool, lies_open: bool = False
) -> tuple[Say, ...]:
    """What to say to words that no conversation and no command took.

    Args:
        row_id: the stored words, which a client may hand to the coach with one tap.
        asking: an open question will be put again right after.
        lies_open: instead of it, a list that was shown just before is still open.
    """
    kind = _kind(text, facts)
    client = facts.me.role is Role.CLIENT
    rows: tuple[tuple[Button, ...], ...] = ()
    if client and kind != "symbols":
        rows = ((Button("send", handler="pass_on", ref=str(row_id)),),)
    if lies_open or not asking:
        rows = (*rows, (Button("menu", handler="open", ref="menu"),))
    values = {
        "kind": kind,
        "client": client,
        "asking": asking,
        "lies_open": lies_open,
        "in_doubt": client and _may_be_about_health(text, facts),
    }
    return (Say("engine/not_understood", values, rows=rows),)


def _may_be_about_health(text: str, facts: Facts) -> bool:
    """Whether the number to call belongs beside it: an alert is on, or the body is named."""
    on = facts.open_alert(facts.me.id) is not None
    return on or speaks_of_the_body(text, facts.reference.safety_answers)


def _kind(text: str, facts: Facts) -> str:
    if not any(letter.isalnum() for letter in text):
        return "symbols"
    if len(text) > LONG_TEXT:
        return "long"
    return "question" if is_question(text, facts.reference.sentences) else "words"
