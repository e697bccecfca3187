"""Numbers in a short free text: "7", "about 7/10", "seven and a half", "one twenty over eighty".

Reads figures (decimal point or comma) and English number words up to 999, and keeps what links two
numbers ("/", "over", "out of"), so that the caller can tell a rating from a pair.
"""

import re
import unicodedata
from dataclasses import dataclass
from enum import StrEnum

# fmt: off
_UNITS = {
    "zero": 0.0, "one": 1.0, "two": 2.0, "three": 3.0, "four": 4.0, "five": 5.0, "six": 6.0,
    "seven": 7.0, "eight": 8.0, "nine": 9.0, "ten": 10.0, "eleven": 11.0, "twelve": 12.0,
    "thirteen": 13.0, "fourteen": 14.0, "fifteen": 15.0, "sixteen": 16.0, "seventeen": 17.0,
    "eighteen": 18.0, "nineteen": 19.0,
}
_TENS = {
    "twenty": 20.0, "thirty": 30.0, "forty": 40.0, "fifty": 50.0, "sixty": 60.0,
    "seventy": 70.0, "eighty": 80.0, "ninety": 90.0,
}
# fmt: on
# "One" in a longer sentence is mostly not a number ("one of those days").
_WORDS_AROUND_ONE = 3
_NOTHING = re.compile(r"(none|nothing|nil|no pain|no pain at all|none at all|not at all)[.! ]*")
_TOKEN = re.compile(
    r"(?P<figure>(?<![\d.,])-?\d+(?:[.,]\d+)?)|(?P<half>½)"
    r"|(?P<slash>/)|(?P<out_of>out\s+of\b)|(?P<word>[a-z]+)"
)


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


def numbers_in(text: str) -> tuple[FoundNumber, ...]:
    """All numbers of ``text``, in order; "none" and "no pain" alone are zero."""
    # The sign for one half is taken out first: compatibility normalising would make it "1/2".
    plain = text.replace("½", " and a half ")
    plain = unicodedata.normalize("NFKC", plain).casefold().strip()
    if _NOTHING.fullmatch(plain):
        return (FoundNumber(0.0),)
    found: list[FoundNumber] = []
    link = Link.NONE
    words: list[str] = []

    def close_words() -> None:
        nonlocal link
        if words.count("one") == 1 and len(words) > _WORDS_AROUND_ONE and not _counts_on(words):
            words.remove("one")
        for value in _values_of(words):
            found.append(FoundNumber(value, link))
            link = Link.NONE
        words.clear()

    for token in _TOKEN.finditer(plain):
        kind = token.lastgroup
        if kind == "word" and token.group() != "over":
            if token.group() == "half" and words[-2:] == ["and", "a"] and len(words) == 2 and found:
                found[-1] = FoundNumber(found[-1].value + 0.5, found[-1].link)
                words.clear()
            else:
                words.append(token.group())
            continue
        close_words()
        if kind == "figure":
            found.append(FoundNumber(_figure(token.group(), plain, token.start()), link))
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


def _values_of(words: list[str]) -> list[float]:
    """Values of runs of number words; any other word ends a run."""
    values: list[float] = []
    run: list[float] = []
    index = 0
    while index < len(words):
        word = words[index]
        follows = words[index + 1] if index + 1 < len(words) else ""
        if word in _UNITS or word in _TENS:
            _add_small(run, _UNITS.get(word, _TENS.get(word, 0.0)), values)
        elif word == "hundred":
            run[:] = [(run[0] if run else 1.0) * 100]
        elif word == "and" and run and words[index + 1 : index + 3] == ["a", "half"]:
            run[-1] += 0.5
            index += 2
        elif not (word == "and" and run and run[-1] % 100 == 0 and _is_number_word(follows)):
            values.extend(run[-1:])
            run.clear()
        index += 1
    values.extend(run[-1:])
    return values


def _counts_on(words: list[str]) -> bool:
    """Whether "one" stands beside a number word: "one hundred", "twenty one", "hundred and one"."""
    place = words.index("one")
    before = [word for word in words[:place] if word != "and"][-1:]
    beside = before + words[place + 1 : place + 2]
    return any(word == "hundred" or _is_number_word(word) for word in beside)


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


def _is_number_word(word: str) -> bool:
    return word in _UNITS or word in _TENS


@dataclass(frozen=True, slots=True)
class SpokenNumber:
    """A number said in words, at characters [start, end) of the text."""

    value: float
    start: int
    end: int


_SPOKEN_WORD = "|".join(sorted((*_UNITS, *_TENS, "hundred", "nought"), key=len, reverse=True))
_SPOKEN_RUN = re.compile(
    rf"\b(?:a (?=hundred))?(?:{_SPOKEN_WORD})\b"
    rf"(?:(?:[ -]+and)?[ -]+(?:a (?=hundred))?(?:{_SPOKEN_WORD}|oh?|point|ate)\b)*"
)
_ZEROS = frozenset(["oh", "o", "nought", "zero"])


def spoken_numbers(text: str) -> tuple[SpokenNumber, ...]:
    """All numbers said in words in ``text`` (lower case), in order, each with its place.

    Reads them as they are said of a pressure or a sugar: "one oh two" is 102, "one eighty eight"
    188, "fourteen point six" 14.6; the dictated "ate" after "point" or "hundred and" is 8.
    """
    found: list[SpokenNumber] = []
    for run in _SPOKEN_RUN.finditer(text):
        words = [
            (match.group(), run.start() + match.start(), run.start() + match.end())
            for match in re.finditer(r"[a-z]+", run.group())
        ]
        at = 0
        while at < len(words):
            value, after = _spoken_at([word for word, _, _ in words], at)
            if value is not None:
                found.append(SpokenNumber(value, words[at][1], words[after - 1][2]))
            at = max(after, at + 1)
    return tuple(found)


def _spoken_at(words: list[str], at: int) -> tuple[float | None, int]:
    """The number that begins at word ``at``, and the word after it; None where none begins."""
    if words[at] == "a":
        at += 1
    if words[at] == "hundred":
        value, after = 1.0, at
    else:
        value_or_none, after = _small_at(words, at)
        if value_or_none is None:
            return None, at + 1
        value = value_or_none
    if after < len(words) and words[after] == "hundred":
        value, after = value * 100, after + 1
        rest = after + 1 if words[after : after + 1] == ["and"] else after
        small, end = _small_at(words, rest)
        if small is not None:
            value, after = value + small, end
    elif 1 <= value <= 9:
        more, end = _hundreds_rest(words, after)
        if more is not None:
            value, after = value * 100 + more, end
    return _with_decimals(words, value, after)


def _hundreds_rest(words: list[str], at: int) -> tuple[float | None, int]:
    """What follows the first digit of "one oh two", "one ninety" or "one eight eight"."""
    if at >= len(words):
        return None, at
    if words[at] in _ZEROS and at + 1 < len(words) and words[at + 1] in _UNITS:
        return _UNITS[words[at + 1]], at + 2
    small, end = _small_at(words, at)
    if small is not None and small >= 10:
        return small, end
    if small is not None and small > 0 and end < len(words):
        last = _UNITS.get(words[end])
        if last is not None and last < 10:
            return small * 10 + last, end + 1
    return None, at


def _small_at(words: list[str], at: int) -> tuple[float | None, int]:
    """A number under a hundred."""
    if at >= len(words):
        return None, at
    word = words[at]
    if word == "nought":
        return 0.0, at + 1
    if word == "ate" and at and words[at - 1] == "and":
        return 8.0, at + 1
    if word in _TENS:
        follows = _UNITS.get(words[at + 1], 0.0) if at + 1 < len(words) else 0.0
        return (_TENS[word] + follows, at + 2) if 0 < follows < 10 else (_TENS[word], at + 1)
    return (_UNITS[word], at + 1) if word in _UNITS else (None, at)


def _with_decimals(words: list[str], value: float, after: int) -> tuple[float, int]:
    if words[after : after + 1] != ["point"]:
        return value, after
    digits = ""
    end = after + 1
    while end < len(words) and len(digits) < 2:
        digit = 0.0 if words[end] in _ZEROS else 8.0 if words[end] == "ate" else None
        digit = _UNITS.get(words[end]) if digit is None else digit
        if digit is None or digit >= 10:
            break
        digits += str(int(digit))
        end += 1
    return (float(f"{int(value)}.{digits}"), end) if digits else (value, after)
