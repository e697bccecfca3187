"""Which clients a coach means by what she types: a whole name, its beginning, or initials."""

import re
from collections.abc import Mapping

from bot.flows.parsing import plain_words

SHORTEST = 2
"""Letters from which the beginning of a name is looked for."""

MOST_WORDS = 3
"""A text of more words is none of a name."""


def meant(text: str, names: Mapping[str, str]) -> list[str]:
    """Ids of the clients that are meant, in the order of ``names``; a whole name comes alone.

    Args:
        names: id -> name.
    """
    said = plain_words(text)
    whole = [one for one, name in names.items() if plain_words(name) == said]
    if whole or not said:
        return whole
    words = said.split()
    if len(words) > MOST_WORDS or (min(map(len, words)) < SHORTEST and len(words) > 1):
        return _by_initials(text, names)
    found = [one for one, name in names.items() if _begins(words, plain_words(name).split())]
    return found or _by_initials(text, names)


def _begins(words: list[str], name: list[str]) -> bool:
    """Whether each word begins another word of the name."""
    left = list(name)
    for word in words:
        hit = next((part for part in left if len(word) >= SHORTEST and part.startswith(word)), None)
        if hit is None:
            return False
        left.remove(hit)
    return True


def _by_initials(text: str, names: Mapping[str, str]) -> list[str]:
    """Names whose first letters were typed: "MT", "m.t."."""
    letters = re.sub(r"[\s.]", "", text).casefold()
    if not letters.isalpha() or not SHORTEST <= len(letters) <= MOST_WORDS:
        return []
    return [
        one
        for one, name in names.items()
        if "".join(part[0] for part in plain_words(name).split()) == letters
    ]


def told_apart(names: Mapping[str, str]) -> dict[str, int]:
    """Ids of namesakes -> which of them it is, counted from 1 in the order of their ids."""
    same: dict[str, list[str]] = {}
    for one in sorted(names, key=int):
        same.setdefault(plain_words(names[one]), []).append(one)
    return {
        one: place
        for namesakes in same.values()
        if len(namesakes) > 1
        for place, one in enumerate(namesakes, 1)
    }
