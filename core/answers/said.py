"""A text as clauses of plain words: dictated marks read as marks, slips mended, numbers as figures.

Slips are mended toward the words that a question looks for, and never from a common word: "fine"
does not become "five".
"""

import re
from collections.abc import Iterable, Sequence

from rapidfuzz import process
from rapidfuzz.distance import OSA

from core.answers.plain import BREAK, bare, pieces
from core.answers.words import Phrases, SentenceWords
from core.number_words import numbers_in

_SENTENCE = re.compile(r"[^.!?;\n]+[.!?;\n]*")
SHORTEST_MENDED, LONG_WORD = 3, 8
"""Letters from which one slip is mended, and from which two are."""

Clause = list[str]


def clauses(text: str, words: SentenceWords, *looked_for: Phrases) -> list[Clause]:
    """The clauses of a text, mended toward the phrases that are looked for; none is empty."""
    said = _marked(pieces(text), words)
    vocabulary = frozenset().union(*(phrases.vocabulary for phrases in looked_for))
    said = [_mended(word, vocabulary, words) for word in said]
    return _split(said)


def numbered(
    text: str, words: SentenceWords, *looked_for: Phrases, ordinals: bool = True
) -> list[Clause]:
    """The same with every number as a figure: "a hundred and two" is "102", "third" is "3".

    Args:
        ordinals: whether "third" counts as a number.
    """
    said = _marked(pieces(text.replace("\u00bd", " and a half ")), words)
    vocabulary = frozenset(words.numbers.under_hundred) | words.numbers.hundred
    vocabulary = vocabulary.union(words.ordinals, *(one.vocabulary for one in looked_for))
    said = [_mended(word, vocabulary, words) for word in said]
    return _split(_as_figures(said, words, ordinals=ordinals))


def cut_at_turns(said: Sequence[Clause], words: SentenceWords) -> list[Clause]:
    """The clauses, cut where "but" turns them."""
    parts = []
    for clause in said:
        start = 0
        for hit in words.lists["turn"].hits(clause):
            parts.append(clause[start : hit.start])
            start = hit.end
        parts.append(clause[start:])
    return [part for part in parts if part]


def without_questions(text: str, words: SentenceWords) -> str:
    """The text without the sentences that ask back: "Is it one each leg?" answers nothing."""
    return "".join(one for one in _SENTENCE.findall(text) if not _asks_back(one, words))


def _asks_back(sentence: str, words: SentenceWords) -> bool:
    begin = bare(sentence)[:3]
    asks = [hit for hit in words.lists["asks_back"].hits(begin) if hit.start == 0]
    plain = [hit for hit in words.lists["asks_back_plainly"].hits(begin) if hit.start == 0]
    return bool(plain) or (bool(asks) and sentence.rstrip().endswith("?"))


def is_figure(word: str) -> bool:
    """Whether a word of a clause is a number in figures."""
    return word[:1].isdigit()


def value_of(word: str) -> float:
    """The number of a figure; a comma is a decimal point. -1 for a clock ("7:30") or a date."""
    parts = word.replace(",", ".").split(".")
    return float(".".join(parts)) if len(parts) < 3 and ":" not in word else -1.0


def _marked(said: Sequence[str], words: SentenceWords) -> list[str]:
    """The words with dictated marks as marks, and words said twice in a row said once."""
    marks = words.lists["spoken_marks"]
    left, at = [], 0
    starts = {hit.start: hit.end for hit in marks.hits(said)}
    while at < len(said):
        if at in starts:
            left.append(BREAK)
            at = starts[at]
            continue
        doubled = left and left[-1] == said[at] and said[at].isalpha()
        number = (
            said[at] in words.numbers.under_hundred
            or said[at] in words.lists["doubling"].vocabulary
        )
        if not doubled or number:
            left.append(said[at])
        at += 1
    return left


def _mended(word: str, vocabulary: frozenset[str], words: SentenceWords) -> str:
    """The word that was meant, where it is no word itself and one alone is near."""
    if (
        len(word) < SHORTEST_MENDED
        or not word.isalpha()
        or word in vocabulary
        or word in words.common
    ):
        return word
    key = (hash(vocabulary), word)
    if key not in words.mended:
        words.mended[key] = _nearest(word, vocabulary)
    return words.mended[key]


def _nearest(word: str, vocabulary: Iterable[str]) -> str:
    slips = 2 if len(word) >= LONG_WORD else 1
    longer = [known for known in vocabulary if len(known) > SHORTEST_MENDED and known.isalpha()]
    near = process.extract(word, longer, scorer=OSA.distance, score_cutoff=slips, limit=4)
    if not near:
        return word
    fewest = min(distance for _known, distance, _at in near)
    best = [known for known, distance, _at in near if distance == fewest]
    same_start = [known for known in best if known[0] == word[0]]
    best = same_start if len(same_start) == 1 else best
    return best[0] if len(best) == 1 else word


def _as_figures(said: Sequence[str], words: SentenceWords, *, ordinals: bool) -> list[str]:
    numbers = words.numbers
    half, one = list(numbers.and_a_half), numbers.one_before_hundred
    left: list[str] = []
    at = 0
    while at < len(said):
        word = said[at]
        if ordinals and word in words.ordinals:
            tens = left and is_figure(left[-1]) and value_of(left[-1]) in (20.0, 30.0)
            value = words.ordinals[word] + (int(value_of(left.pop())) if tens else 0)
            left.append(str(value))
            at += 1
            continue
        amounts = words.choices["amounts"].hits(said[at : at + 3])
        if amounts and amounts[0].start == 0:
            left.append(amounts[0].code)
            at += amounts[0].end
            continue
        end = at
        while end < len(said) and (
            said[end] in numbers.under_hundred
            or said[end] in numbers.hundred
            or (said[end] in one and end + 1 < len(said) and said[end + 1] in numbers.hundred)
            or (end > at and _joins(said, end, words))
        ):
            end += 1
        if end == at or (end == at + 1 and _is_no_number(said, at, words)):
            if is_figure(word) and list(said[at + 1 : at + 1 + len(half)]) == half:
                left.append(f"{value_of(word) + 0.5:g}")
                at += 1 + len(half)
                continue
            left.append(word)
            at += 1
            continue
        run = list(said[at:end])
        if list(said[end : end + len(half)]) == half:
            run += half
            end += len(half)
        left += [f"{found.value:g}" for found in numbers_in(" ".join(run), numbers)]
        at = end
    return left


def _joins(said: Sequence[str], at: int, words: SentenceWords) -> bool:
    """Whether a word only joins a hundred to what follows."""
    after = said[at + 1] if at + 1 < len(said) else ""
    hundred_before = said[at - 1] in words.numbers.hundred
    return (
        said[at] in words.numbers.joining
        and hundred_before
        and after in words.numbers.under_hundred
    )


def _is_no_number(said: Sequence[str], at: int, words: SentenceWords) -> bool:
    """Whether a lone "one" is no number: "the pink one", "one of those", "one keeps going"."""
    if said[at] not in words.numbers.often_no_number:
        return False
    linked = words.lists["range_links"].are(said[at + 1 : at + 2]) and at + 2 < len(said)
    if linked and (said[at + 2] in words.numbers.under_hundred or is_figure(said[at + 2])):
        return False
    before = said[at - 1] if at else BREAK
    after = said[at + 1] if at + 1 < len(said) else BREAK
    named = words.lists["before_no_one"].vocabulary
    return before in named or after in words.lists["after_no_one"].vocabulary


def _split(said: Iterable[str]) -> list[Clause]:
    found: list[Clause] = [[]]
    for word in said:
        if word == BREAK:
            found.append([])
        else:
            found[-1].append(word)
    return [clause for clause in found if clause]
