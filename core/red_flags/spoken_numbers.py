"""Numbers said in words within a longer text, each with its place.

Reads them as they are said of a pressure or a sugar: "one oh two" is 102, "one eighty eight" 188,
"fourteen point six" 14.6; the dictated "ate" after "point" or "hundred and" is 8.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass

from core.number_words import NumberWords

_MOST_DECIMALS = 2


@dataclass(frozen=True, slots=True)
class SpokenNumber:
    """A number said in words, at characters [start, end) of the text."""

    value: float
    start: int
    end: int


def spoken_numbers(text: str, language: NumberWords) -> tuple[SpokenNumber, ...]:
    """All numbers said in words in ``text`` (lower case), in order."""
    found: list[SpokenNumber] = []
    for run in language.spoken_run.finditer(text):
        words = [
            (match.group(), run.start() + match.start(), run.start() + match.end())
            for match in re.finditer(r"[^\W\d_]+", run.group())
        ]
        said = _Said([word for word, _, _ in words], language)
        at = 0
        while at < len(words):
            value, after = said.number_at(at)
            if value is not None:
                found.append(SpokenNumber(value, words[at][1], words[after - 1][2]))
            at = max(after, at + 1)
    return tuple(found)


class _Said:
    """A run of number words. What is found is given with the place of the word after it."""

    def __init__(self, words: Sequence[str], language: NumberWords) -> None:
        self._words = words
        self._language = language
        self._values = language.under_hundred

    def number_at(self, at: int) -> tuple[float | None, int]:
        """The number that begins at word ``at``; None where none begins."""
        if self._is(at, self._language.one_before_hundred):
            at += 1
        if self._is(at, self._language.hundred):
            value, after = 1.0, at
        else:
            small, after = self._small_at(at)
            if small is None:
                return None, at + 1
            value = small
        if self._is(after, self._language.hundred):
            value, after = value * 100, after + 1
            joined = after + 1 if self._is(after, self._language.joining) else after
            small, end = self._small_at(joined)
            if small is not None:
                value, after = value + small, end
        elif 1 <= value <= 9:
            more, end = self._hundreds_rest(after)
            if more is not None:
                value, after = value * 100 + more, end
        return self._with_decimals(value, after)

    def _is(self, at: int, words: frozenset[str]) -> bool:
        return at < len(self._words) and self._words[at] in words

    def _digit_at(self, at: int) -> int | None:
        """A single digit as it is said one after the other; "oh" is 0."""
        if at >= len(self._words):
            return None
        word = self._words[at]
        if word in self._language.zero_digits:
            return 0
        value = self._language.misheard.get(word, self._values.get(word))
        return int(value) if value is not None and value < 10 else None

    def _under_twenty(self, at: int) -> float | None:
        value = self._values.get(self._words[at]) if at < len(self._words) else None
        return value if value is not None and value < 20 else None

    def _hundreds_rest(self, at: int) -> tuple[float | None, int]:
        """What follows the first digit of "one oh two", "one ninety" or "one eight eight"."""
        if at >= len(self._words):
            return None, at
        zero = self._digit_at(at) == 0
        after_zero = self._under_twenty(at + 1)
        if zero and after_zero is not None:
            return after_zero, at + 2
        small, end = self._small_at(at)
        if small is not None and small >= 10:
            return small, end
        last = self._under_twenty(end)
        if small is not None and small > 0 and last is not None and last < 10:
            return small * 10 + last, end + 1
        return None, at

    def _small_at(self, at: int) -> tuple[float | None, int]:
        """A number under a hundred."""
        if at >= len(self._words):
            return None, at
        word = self._words[at]
        if word in self._language.misheard:
            told = at > 0 and self._words[at - 1] in self._language.joining
            return (self._language.misheard[word], at + 1) if told else (None, at)
        value = self._values.get(word)
        if value is None or value < 20:
            return value, at + (value is not None)
        digit = self._under_twenty(at + 1)
        if digit is not None and 0 < digit < 10:
            return value + digit, at + 2
        return value, at + 1

    def _with_decimals(self, value: float, after: int) -> tuple[float, int]:
        if not self._is(after, self._language.point):
            return value, after
        digits, end = "", after + 1
        while len(digits) < _MOST_DECIMALS and (digit := self._digit_at(end)) is not None:
            digits += str(digit)
            end += 1
        return (float(f"{int(value)}.{digits}"), end) if digits else (value, after)
