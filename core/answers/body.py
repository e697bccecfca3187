"""Height, weight, year of birth and the cuff, told in a sentence."""

import re
from collections.abc import Sequence
from itertools import pairwise

from core.answers.plain import bare
from core.answers.said import Clause, is_figure, numbered, value_of
from core.answers.words import SentenceWords, Understood

CM_PER_FOOT, CM_PER_INCH = 30.48, 2.54
KG_PER_STONE, KG_PER_POUND = 6.35029, 0.453592
FEWEST_INCHES = 48
CM, KG = (120.0, 220.0), (30.0, 250.0)
PARTS_OF_A_DATE, SHORT_YEAR = 3, 2
SYSTOLIC, DIASTOLIC = range(60, 281), range(30, 161)


def read_height(text: str, words: SentenceWords) -> Understood[float] | None:
    """A height in cm: centimetres, metres, or feet and inches."""
    marked = _with_marks(text)
    if words.lists["between"].stands_in(bare(text)):
        return None
    return _latest(
        [
            value
            for clause in _joined(numbered(marked, words, words.choices["unit"]), words)
            for value in _heights(clause, words)
            if CM[0] <= value <= CM[1]
        ]
    )


def read_weight(text: str, units: str, words: SentenceWords) -> Understood[float] | None:
    """A weight in kg: kilos, stone and pounds, or pounds.

    Args:
        units: of a bare number: "metric", "imperial" (pounds) or "stone".
    """
    if words.lists["between"].stands_in(bare(text)) or _ranges(text, words):
        return None
    found = [
        value
        for clause in _joined(numbered(text, words, words.choices["unit"]), words)
        for value in _weights(clause, units, words)
        if KG[0] <= value <= KG[1]
    ]
    return _latest(found)


def read_birth_year(
    text: str, first: int, last: int, words: SentenceWords
) -> Understood[int] | None:
    """A year of birth from ``first`` to ``last``; an age alone says too little."""
    said = numbered(_with_whole_years(text), words)
    whole = [
        int(word)
        for clause in said
        for word in clause
        if word.isdigit() and len(word) == 4 and first <= int(word) <= last
    ]
    spoken = [
        year
        for clause in said
        for one, two in pairwise(_without_joining(clause, words))
        if one in ("18", "19", "20") and two.isdigit() and len(two) == 2
        if first <= (year := int(one + two)) <= last
    ]
    years = set(whole) | set(spoken)
    if len(years) == 1:
        return Understood(years.pop())
    short = [
        year
        for clause in said
        for at, word in enumerate(clause)
        if word.isdigit()
        and len(word) == 2
        and words.lists["before_year"].stands_in(clause[:at][-1:])
        if first <= (year := 1900 + int(word)) <= last
    ]
    for clause in said:
        figures = [word for word in clause if word.isdigit()]
        if len(clause) == len(figures) == PARTS_OF_A_DATE and len(figures[-1]) == SHORT_YEAR:
            short.append(1900 + int(figures[-1]))
    return Understood(short[0], sure=False) if not years and len(set(short)) == 1 else None


def _with_whole_years(text: str) -> str:
    """The text with "'39" and the year of "12/08/46" written out."""
    text = re.sub(r"(?<!\w)['\u2019\u2018](\d\d)(?!\d)", r"19\1", text)
    text = re.sub(r"\b(\d{1,2}[/.-]\d{1,2}[/.-])(\d\d)(?!\d)", r"\g<1>19\2", text)
    return re.sub(r"(?<=\d)[/.-](?=\d)", " ", text)


def _without_joining(clause: Clause, words: SentenceWords) -> Clause:
    return [word for word in clause if word not in words.numbers.joining]


def read_pressure(text: str, words: SentenceWords) -> Understood[tuple[int, int]] | None:
    """What the cuff said, upper and lower; of two measurements the last, to be said back."""
    told = numbered(text.replace("/", " / "), words, words.lists["upper"], words.lists["lower"])
    said = [_digits_joined(clause) for clause in told]
    pairs: list[tuple[int, int]] = []
    pending: int | None = None
    for clause in said:
        for at, word in enumerate(clause):
            if not (word.isdigit() and 2 <= len(word) <= 3):
                continue
            value = int(word)
            if words.lists["pulse_words"].stands_in(clause[max(0, at - 3) : at]):
                continue
            if pending is not None and value in DIASTOLIC and value < pending:
                pairs.append((pending, value))
                pending = None
            elif value in SYSTOLIC:
                pending = value
    if not pairs:
        return None
    return Understood(pairs[-1], sure=len(set(pairs)) == 1)


def _digits_joined(clause: Clause) -> Clause:
    """Digits said one by one as one number: "1 2 9 and then 7 7" is "129 and then 77"."""
    joined: Clause = []
    running = False
    for word in clause:
        single = word.isdigit() and len(word) == 1
        if single and running:
            joined[-1] += word
        else:
            joined.append(word)
        running = single
    return joined


def _with_marks(text: str) -> str:
    """Feet and inches written with marks, in words of their own."""
    out = []
    for at, letter in enumerate(text):
        before = text[at - 1] if at else ""
        if letter in "'\u2019\u2032\u00b4`" and before.isdigit():
            out.append(" ft ")
        elif letter in '"\u201d\u2033' and before.isdigit():
            out.append(" in ")
        else:
            out.append(letter)
    return "".join(out)


def _joined(said: Sequence[Clause], words: SentenceWords) -> list[Clause]:
    """The clauses without what was so before; "5 ft, 2" is one."""
    merged: list[Clause] = []
    for clause in said:
        if merged and is_figure(clause[0]) and _unit(merged[-1][-1], words):
            merged[-1] = [*merged[-1], *clause]
        else:
            merged.append(list(clause))
    parts = []
    for clause in merged:
        start = 0
        for hit in words.lists["turn"].hits(clause):
            parts.append(clause[start : hit.start])
            start = hit.end
        parts.append(clause[start:])
    left = [part for part in parts if part and not words.lists["used_to_be"].stands_in(part)]
    now = [part for part in left if not words.lists["was_then"].stands_in(part[:2])]
    return now if any(is_figure(word) for part in now for word in part) else left


def _unit(word: str, words: SentenceWords) -> str:
    hits = words.choices["unit"].hits([word])
    return hits[0].code if hits else ""


def _measures(clause: Clause, words: SentenceWords) -> list[tuple[float, str]]:
    """Each number with the unit after it, "" for none."""
    found = []
    for at, word in enumerate(clause):
        if is_figure(word):
            after = clause[at + 1] if at + 1 < len(clause) else ""
            found.append((value_of(word), _unit(after, words)))
    return found


def _heights(clause: Clause, words: SentenceWords) -> list[float]:
    found: list[float] = []
    measures = _measures(clause, words)
    at = 0
    while at < len(measures):
        value, unit = measures[at]
        more, its = measures[at + 1] if at + 1 < len(measures) else (-1.0, "")
        at += 1
        if unit == "ft" and 3 <= value <= 7:
            inches = 0 <= more < 12 and its in ("", "in")
            found.append(value * CM_PER_FOOT + (more if inches else 0) * CM_PER_INCH)
            at += inches
        elif not unit and its == "" and 4 <= value <= 6 and 0 <= more < 12:
            doubtful = value * CM_PER_FOOT + more * CM_PER_INCH
            found += [doubtful, doubtful + 1e-6]
            at += 1
        elif unit == "m" and value == 1 and 20 <= more < 100 and its in ("", "cm"):
            found.append(100 + more)
            at += 1
        elif unit == "m" or (not unit and 1.2 <= value <= 2.2):
            found.append(value * 100)
        elif unit == "in" and value >= FEWEST_INCHES:
            found.append(value * CM_PER_INCH)
        elif unit in ("cm", "") and value >= CM[0]:
            found.append(value)
    return found


def _weights(clause: Clause, units: str, words: SentenceWords) -> list[float]:
    found: list[float] = []
    measures = _measures(clause, words)
    at = 0
    while at < len(measures):
        value, unit = measures[at]
        more, its = measures[at + 1] if at + 1 < len(measures) else (-1.0, "")
        at += 1
        if unit == "st":
            pounds = 0 < more < 14 and its in ("", "lb")
            found.append(value * KG_PER_STONE + (more if pounds else 0) * KG_PER_POUND)
            at += pounds
        elif unit == "kg" or (not unit and units == "metric"):
            found.append(value)
        elif unit == "lb" or (not unit and units == "imperial"):
            found.append(value * KG_PER_POUND)
        elif not unit and units == "stone" and value < 30:
            pounds = 0 < more < 14 and its in ("", "lb")
            found.append(value * KG_PER_STONE + (more if pounds else 0) * KG_PER_POUND)
            at += pounds
        elif not unit:
            found.append(value)
    return found


def _ranges(text: str, words: SentenceWords) -> bool:
    """Whether two plausible weights stand as "80 to 85"."""
    for clause in numbered(text, words):
        for at, word in enumerate(clause[2:], 2):
            one, link = clause[at - 2], clause[at - 1]
            figures = is_figure(one) and is_figure(word)
            if figures and words.lists["range_links"].are([link]):
                return min(value_of(one), value_of(word)) >= KG[0]
    return False


def _latest(values: Sequence[float]) -> Understood[float] | None:
    """The last of several values, not sure then."""
    if not values:
        return None
    return Understood(values[-1], sure=len(set(values)) == 1)
