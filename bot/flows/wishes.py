"""A wish in a client's own words: "can I have an easier squat", "the push ups are too hard".

Only short messages are read, and only where they ask for something or say that it is too much:
"my squat felt easier today" is news, not a wish. In doubt nothing is changed.
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from rapidfuzz import fuzz, process

from bot.flows.parsing import plain_words
from bot.json_values import JsonValue, from_json

MOST_WORDS = 14
"""A longer message is a letter to the coach rather than a wish."""
SHORTEST_MENDED = 5
"""Letters from which a movement's name may have a slip of the pen."""
CLOSE_ENOUGH = 80


@dataclass(frozen=True, slots=True)
class MovementWish:
    """What is asked for.

    Attributes:
        what: "easier", "harder" or "no_kit".
        family: the movement that was named, "" for none.
    """

    what: str
    family: str


@dataclass(frozen=True, slots=True)
class WishWords:
    """The phrases that a wish is made of, in small letters; see ``templates/en/wishes.yaml``."""

    complaints: Mapping[str, Sequence[str]]
    directions: Mapping[str, Sequence[str]]
    asking: Sequence[str]
    turning: Sequence[str]
    denying: Sequence[str]
    but_not_turning: Sequence[str]
    families: Mapping[str, Sequence[str]]

    @classmethod
    def from_yaml(cls, data: JsonValue) -> "WishWords":
        """Read the parsed file."""
        return from_json(cls, data)


NO_WISHES = WishWords({}, {}, (), (), (), (), {})


def wish_of(text: str, words: WishWords) -> MovementWish | None:
    """The wish that a text holds, or None."""
    said = plain_words(text)
    if not said or len(said.split()) > MOST_WORDS:
        return None
    what = _complaint(said, words) or _asked_for(said, words) or _bare(said, words)
    return MovementWish(what, _family(said, words)) if what else None


def _complaint(said: str, words: WishWords) -> str:
    return _first(words.complaints, said, words, only_not=True)


def _asked_for(said: str, words: WishWords) -> str:
    if not any(_place(phrase, said) is not None for phrase in words.asking):
        return ""
    return _first(words.directions, said, words, only_not=False)


def _bare(said: str, words: WishWords) -> str:
    """What "easier squat" wishes: nothing stands there but that and a movement's name."""
    named = {name for listed in words.families.values() for name in listed}
    for what, phrases in words.directions.items():
        if any(f"{phrase} {name}" == said for phrase in phrases for name in named):
            return what
    return ""


def _first(
    listed: Mapping[str, Sequence[str]], said: str, words: WishWords, *, only_not: bool
) -> str:
    """What is wished by the first phrase that stands there unturned, or ""."""
    for what, phrases in listed.items():
        for phrase in phrases:
            found = _place(phrase, said)
            if found is not None and not _turned(said[:found], phrase, words, only_not=only_not):
                return what
    return ""


def _turned(before: str, phrase: str, words: WishWords, *, only_not: bool) -> bool:
    """Whether the two words before a phrase make it news, or its contrary."""
    if phrase in words.but_not_turning:
        return False
    last = before.split()[-2:]
    return any(word in last for word in (words.denying if only_not else words.turning))


def _family(said: str, words: WishWords) -> str:
    """The movement that is named; the longest name counts."""
    names = {name: family for family, listed in words.families.items() for name in listed}
    for name in sorted(names, key=len, reverse=True):
        if _place(name, said) is not None:
            return names[name]
    single = [name for name in names if len(name) >= SHORTEST_MENDED and " " not in name]
    for word in said.split():
        if len(word) >= SHORTEST_MENDED:
            near = process.extractOne(word, single, scorer=fuzz.ratio, score_cutoff=CLOSE_ENOUGH)
            if near:
                return names[near[0]]
    return ""


def _place(phrase: str, said: str) -> int | None:
    """Where a phrase stands as whole words."""
    found = re.search(rf"(?<!\S){re.escape(phrase)}(?!\S)", said)
    return found.start() if found else None
