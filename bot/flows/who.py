"""Two people on one phone: whose words are these?"""

from collections.abc import Sequence

from bot.flows.facts import Facts, Person
from bot.flows.machine import Button, Say, Turn

NAME = "who"
"""Taps of this desk are answered by the engine itself: it hands the stored words on."""


def ask_who(row_id: int, speakers: Sequence[Person]) -> Say:
    """Ask whose words these were; each button names the stored words and one person."""
    rows = tuple(
        (Button(str(person.id), label=person.name, desk=NAME, ref=str(row_id)),)
        for person in speakers
    )
    return Say("engine/who_is_this", rows=rows)


def tap(_ref: str, _value: str, _facts: Facts) -> Turn:
    """Reached only when the words behind the button are gone."""
    return Turn(None, says=(Say("engine/stale_button"),))
