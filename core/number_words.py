"""Numbers in a short free text: "7", "about 7/10", "seven and a half", "one twenty over eighty".

Reads figures (a decimal point or comma, not both: "1.234,5" is a thousand to some) and number words
up to 999 in the language whose words are handed in, and keeps what links two numbers ("/", "over",
"out of"), so that the caller can tell a rating from a pair.
"""

import re
import unicodedata
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any

# "One" in a longer sentence is mostly not a number ("one of those days").
_WORDS_AROUND_ONE = 3
_HALF_SIGN = "\u00bd"
_MINUS_SIGN = "\u2212"


@dataclass(frozen=True, slots=True, eq=False)
class NumberWords:
    """The number words of one language, in small letters.

    Attributes:
        under_hundred: word -> value, 0 to 99.
        hundred: words for 100.
        joining: between hundreds and the rest.
        and_a_half: the words after a whole number that add a half, in order.
        over: words that link a pair.
        out_of: the words that link a rating to the top of its scale, in order.
        often_no_number: words of ``under_hundred`` that count for nothing in a longer sentence.
        nothing: whole answers that mean 0.
        one_before_hundred: words before ``hundred`` that mean one of it.
        zero_digits: words that are 0 between digits said one by one.
        point: words between a whole number and its decimals.
        misheard: what dictation writes for a digit -> its value.
    """

    under_hundred: Mapping[str, float]
    hundred: frozenset[str]
    joining: frozenset[str]
    and_a_half: tuple[str, ...]
    over: frozenset[str]
    out_of: tuple[str, ...]
    often_no_number: frozenset[str]
    nothing: frozenset[str]
    one_before_hundred: frozenset[str]
    zero_digits: frozenset[str]
    point: frozenset[str]
    misheard: Mapping[str, float]
    token: re.Pattern[str] = field(init=False)
    spoken_run: re.Pattern[str] = field(init=False)

    def __post_init__(self) -> None:
        """Build the patterns of a token and of a run of number words."""
        out_of = r"\s+".join(map(re.escape, self.out_of))
        pattern = (
            r"(?P<figure>(?<![\d.,])-?\d+(?:[.,]\d+)?(?![.,]?\d))"
            rf"|(?P<slash>/)|(?P<out_of>{out_of}\b)|(?P<word>[^\W\d_]+)"
        )
        object.__setattr__(self, "token", re.compile(pattern))
        object.__setattr__(self, "spoken_run", re.compile(self._pattern_of_run()))

    def _pattern_of_run(self) -> str:
        """Number words one after the other, the first of them one that stands by itself."""
        hundred, joining = _any_of(self.hundred), _any_of(self.joining)
        one = rf"(?:(?:{_any_of(self.one_before_hundred)}) (?=(?:{hundred})))?"
        first = _any_of((*self.under_hundred, *self.hundred))
        more = _any_of(
            (
                *self.under_hundred,
                *self.hundred,
                *self.zero_digits,
                *self.point,
                *self.misheard,
            )
        )
        return rf"\b{one}(?:{first})\b(?:(?:[ -]+(?:{joining}))?[ -]+{one}(?:{more})\b)*"

    @classmethod
    def from_yaml(cls, data: Mapping[str, Any]) -> "NumberWords":
        """Read a parsed list of words; ``KeyError`` where a part is missing."""
        return cls(
            under_hundred={word: float(value) for word, value in data["under_hundred"].items()},
            hundred=frozenset(data["hundred"]),
            joining=frozenset(data["joining"]),
            and_a_half=tuple(data["and_a_half"]),
            over=frozenset(data["over"]),
            out_of=tuple(data["out_of"]),
            often_no_number=frozenset(data["often_no_number"]),
            nothing=frozenset(data["nothing"]),
            one_before_hundred=frozenset(data["one_before_hundred"]),
            zero_digits=frozenset(data["zero_digits"]),
            point=frozenset(data["point"]),
            misheard={word: float(value) for word, value in data["misheard"].items()},
        )


def _any_of(words: Iterable[str]) -> str:
    return "|".join(re.escape(word) for word in sorted(words, key=len, reverse=True))


class Link(StrEnum):
    """What stands between a number and the one before it."""

    NONE = "none"
    OVER = "over"
    OUT_OF = "out_of"


@dataclass(frozen=True, slots=True)
class FoundNumber:
    """A number, and how it is linked to the one before it."""

    value: float
    link: Link = Link.NONE


def numbers_in(text: str, language: NumberWords) -> tuple[FoundNumber, ...]:
    """All numbers of ``text``, in order; "none" and "no pain" alone are zero."""
    # The sign for one half is taken out first: compatibility normalising would make it "1/2".
    plain = text.replace(_HALF_SIGN, f" {' '.join(language.and_a_half)} ")
    plain = unicodedata.normalize("NFKC", plain).casefold().strip().replace(_MINUS_SIGN, "-")
    if plain.rstrip(".! ") in language.nothing:
        return (FoundNumber(0.0),)
    found: list[FoundNumber] = []
    link = Link.NONE
    words: list[str] = []
    before_half, half = list(language.and_a_half[:-1]), language.and_a_half[-1]

    def close_words() -> None:
        nonlocal link
        if len(words) > _WORDS_AROUND_ONE:
            _leave_out_one(words, language)
        for value in _values_of(words, language):
            found.append(FoundNumber(value, link))
            link = Link.NONE
        words.clear()

    for token in language.token.finditer(plain):
        kind, said = token.lastgroup, token.group()
        if kind == "word" and said not in language.over:
            if said == half and words == before_half and found:
                found[-1] = FoundNumber(found[-1].value + 0.5, found[-1].link)
                words.clear()
            else:
                words.append(said)
            continue
        close_words()
        if kind == "figure":
            found.append(FoundNumber(_figure(said, plain, token.start()), link))
            link = Link.NONE
        else:
            link = Link.OUT_OF if kind == "out_of" else Link.OVER
    close_words()
    return tuple(found)


def _figure(figure: str, text: str, start: int) -> float:
    """The value of a figure; a hyphen after a number is a range's dash, not a minus."""
    if figure.startswith("-") and re.search(r"[\w.]\s*$", text[:start]):
        figure = figure[1:]
    if re.fullmatch(r"-?\d{1,3},\d{3}", figure):
        return float(figure.replace(",", ""))
    return float(figure.replace(",", "."))


def _values_of(words: Sequence[str], language: NumberWords) -> list[float]:
    """Values of runs of number words; any other word ends a run."""
    values: list[float] = []
    run: list[float] = []
    small, half = language.under_hundred, language.and_a_half
    index = 0
    while index < len(words):
        word = words[index]
        follows = words[index + 1] if index + 1 < len(words) else ""
        if word in small:
            _add_small(run, small[word], values)
        elif word in language.hundred:
            run[:] = [(run[0] if run else 1.0) * 100]
        elif run and word == half[0] and tuple(words[index : index + len(half)]) == half:
            run[-1] += 0.5
            index += len(half) - 1
        elif not (run and word in language.joining and run[-1] % 100 == 0 and follows in small):
            values.extend(run[-1:])
            run.clear()
        index += 1
    values.extend(run[-1:])
    return values


def _leave_out_one(words: list[str], language: NumberWords) -> None:
    """Drop a lone "one" that no number word stands beside."""
    for one in language.often_no_number:
        if words.count(one) == 1 and not _counts_on(words, one, language):
            words.remove(one)


def _counts_on(words: Sequence[str], one: str, language: NumberWords) -> bool:
    """Whether "one" stands beside a number word: "one hundred", "twenty one", "hundred and one"."""
    place = words.index(one)
    before = [word for word in words[:place] if word not in language.joining][-1:]
    beside = [*before, *words[place + 1 : place + 2]]
    return any(word in language.hundred or word in language.under_hundred for word in beside)


def _add_small(run: list[float], small: float, values: list[float]) -> None:
    """Put ``small`` into the run: "eighty five", "hundred twenty", and "one twenty" for 120."""
    last = run[-1] if run else None
    if last is None:
        run.append(small)
    elif (last >= 20 and last % 10 == 0 and 0 < small < 10) or (last >= 100 and last % 100 == 0):
        run[:] = [last + small]
    elif 1 <= last <= 9 and 10 <= small < 100:
        run[:] = [last * 100 + small]
    else:
        values.append(last)
        run[:] = [small]
