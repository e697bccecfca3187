"""Several people on one phone: whose words are these?"""

from collections import Counter
from collections.abc import Mapping, Sequence

from bot.flows.facts import Facts, Person
from bot.flows.machine import Button, Say, Turn
from core.vocabulary import Role

NAME = "who"
"""Taps of this handler are answered by the engine itself: it hands the stored words on."""


def ask_who(row_id: int, speakers: Sequence[Person], *, tapped: bool) -> Say:
    """Ask whose words, or whose tap, this was; each button names what is stored and one person."""
    rows = tuple(
        (Button(str(person.id), handler=NAME, ref=str(row_id)),) for person in by_age(speakers)
    )
    return Say("engine/who_is_this", {"tapped": tapped, "people": told_apart(speakers)}, rows=rows)


def newly_shared(speakers: Sequence[Person]) -> tuple[Say, ...]:
    """Say that a chat speaks for several people now; nothing when it speaks for one."""
    if len(speakers) < 2:
        return ()
    return (Say("engine/shared_chat", {"people": told_apart(speakers)}),)


def told_apart(speakers: Sequence[Person]) -> Sequence[Mapping[str, object]]:
    """The persons of a chat with what tells them apart: their role, or a number, where needed."""
    roles = len({person.role for person in speakers}) > 1
    twins = Counter((person.name, person.role) for person in speakers)
    seen: Counter[tuple[str, Role]] = Counter()
    found = []
    for person in by_age(speakers):
        key = (person.name, person.role)
        seen[key] += 1
        found.append(
            {
                "id": person.id,
                "name": person.name,
                "role": person.role.value if roles else "",
                "number": seen[key] if twins[key] > 1 else 0,
            }
        )
    return found


def by_age(speakers: Sequence[Person]) -> Sequence[Person]:
    """In the order in which they came to us, which never changes."""
    return sorted(speakers, key=lambda person: person.id)


def tap(_ref: str, _value: str, _facts: Facts) -> Turn:
    """Reached only when the words behind the button are gone."""
    return Turn(None, says=(Say("engine/stale_button"),))
