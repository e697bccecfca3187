"""A walk in a client's own words: "walked half an hour", "20 minutes walk, could talk".

Only a message in which nothing else stands is taken: with any other word, a knee that hurt say, it
is for somebody to read.
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from bot.flows.parsing import Reask, plain_words, read_number
from bot.json_values import JsonValue, from_json
from core.number_words import NumberWords
from core.programme.walking import Activity

MOST_WORDS = 26
NAME = re.compile(r"(?<=[a-z,] )[A-Z][a-z]+")
"""A name within a sentence: it says nothing of the walk."""
LONGEST_MINUTES = 300


@dataclass(frozen=True, slots=True)
class WalkTold:
    """What was told.

    Attributes:
        days_ago: 0 today, 1 yesterday.
        could_talk: said outright.
    """

    activity: Activity
    minutes: int
    days_ago: int
    could_talk: bool


@dataclass(frozen=True, slots=True)
class WalkWords:
    """The words of a language; see ``templates/en/words/walks.yaml``."""

    activities: Mapping[str, Sequence[str]]
    lengths: Mapping[str, int]
    minutes: Sequence[str]
    yesterday: Sequence[str]
    could_talk: Sequence[str]
    beside: Sequence[str]
    wishing: Sequence[str]
    but_not: Sequence[str]
    beside_wish: Sequence[str]

    @classmethod
    def from_yaml(cls, data: JsonValue) -> "WalkWords":
        """Read the parsed file."""
        return from_json(cls, data)


NO_WALKS = WalkWords({}, {}, (), (), (), (), (), (), ())


def walk_of(text: str, words: WalkWords, numbers: NumberWords) -> WalkTold | None:
    """The walk that a text tells, or None."""
    said = plain_words(NAME.sub("", text))
    if not said or len(said.split()) > MOST_WORDS:
        return None
    named = {way: code for code, ways in words.activities.items() for way in ways}
    said, way = _taken(said, named)
    if not way:
        return None
    said, talk = _taken(said, words.could_talk)
    said, before = _taken(said, words.yesterday)
    minutes, said = _minutes(said, words, numbers)
    if minutes is None or not set(said.split()) <= {*words.beside, *named}:
        return None
    return WalkTold(Activity(named[way]), minutes, int(bool(before)), bool(talk))


def wished_activity(text: str, words: WalkWords) -> Activity | None:
    """What somebody would rather do than what is planned: "I'd rather cycle", or None.

    What stands after "than" or "instead of" is what it comes in place of.
    """
    said = plain_words(text)
    if not said or len(said.split()) > MOST_WORDS:
        return None
    for phrase in words.but_not:
        said = re.sub(rf"(?<!\S){re.escape(phrase)} \S+(?!\S)", words.wishing[0], said)
    named = {way: code for code, ways in words.activities.items() for way in ways}
    rest, way = _taken(said, named)
    rest, wish = _taken(rest, words.wishing)
    while way and wish and (left := _taken(rest, words.wishing))[1]:
        rest = left[0]
    if not (way and wish and set(rest.split()) <= set(words.beside_wish)):
        return None
    return Activity(named[way])


def _minutes(said: str, words: WalkWords, numbers: NumberWords) -> tuple[int | None, str]:
    """The length in minutes, and what else was said."""
    rest, length = _taken(said, words.lengths)
    if length:
        return words.lengths[length], rest
    rest, unit = _taken(said, words.minutes)
    if not unit and len(said.split()) > 1:
        # "Walked 20" is said back as minutes; beside any other word it may be steps or shops.
        return None, said
    beside = set(words.beside)
    told = " ".join(word for word in rest.split() if word not in beside)
    amount = read_number(told, 1, LONGEST_MINUTES, numbers)
    if isinstance(amount, Reask):
        return None, said
    kept = (word for word in rest.split() if word in beside or not _is_number(word, numbers))
    return round(amount), " ".join(kept)


def _is_number(word: str, numbers: NumberWords) -> bool:
    return word.isdigit() or word in numbers.under_hundred or word in numbers.hundred


def _taken(said: str, phrases: Sequence[str] | Mapping[str, object]) -> tuple[str, str]:
    """What is left without the longest of the phrases that stands there, and that phrase."""
    for phrase in sorted(phrases, key=len, reverse=True):
        found = re.search(rf"(?<!\S){re.escape(phrase)}(?!\S)", said)
        if found:
            return f"{said[: found.start()]} {said[found.end() :]}".strip(), phrase
    return said, ""
