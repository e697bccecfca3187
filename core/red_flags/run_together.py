"""Spaces put back into words that were run together: "icantbreathe" is "i cant breathe".

It comes before everything else, so that the lexicon and the second opinion both read words. Only a
word that is nothing else (not known, no slip of a known one) is taken apart, and only where known
words make it up with nothing left over.
"""

import re

from core.red_flags.spelling import Speller

_SHORTEST, _LONGEST = 7, 80
_LONGEST_PART = 20
_LETTERS_A_PART = 3
"""On average: less is chance, not words."""
_MOST_RUNS = 12
"""Runs taken apart in one text; a message has few, and this bounds the time of any other text."""

_RUN = re.compile(r"[^\W\d_]+(?:['’][^\W\d_]+)*")

_SHORT = frozenset(
    {"a", "i", "im", "my", "no", "in", "on", "of", "at", "is", "it", "me", "so", "to", "up"}
    | {"am", "an", "be", "by", "do", "go", "he", "if", "or", "we", "as", "its", "ive", "id"}
    | {"the", "and", "was", "has", "had", "not", "out", "all", "got", "get", "but", "can", "for"}
    | {"off", "now", "too", "you", "she", "her", "him", "his", "are", "bit", "day", "one", "who"}
    | {"arm", "leg", "jaw", "eye", "hip", "lip", "ill", "hot", "bad", "big", "sit", "lie", "did"}
    | {"let", "see", "ago", "our", "may", "how", "why", "any", "old", "new", "yes", "mum", "dad"}
)
"""Words of up to three letters that may stand in a run; others are chance too often."""


def put_spaces(text: str, speller: Speller) -> str:
    """``text`` with spaces in the words that were run together; else unchanged."""
    runs = 0

    def spaced(match: re.Match[str]) -> str:
        nonlocal runs
        run = match.group()
        word = run.lower().replace("'", "").replace("’", "")
        if not _SHORTEST <= len(word) <= _LONGEST or runs >= _MOST_RUNS:
            return run
        if speller.knows(word) or speller.repair(word) is not None:
            return run
        runs += 1
        parts = words_in(word, speller)
        return " ".join(parts) if parts else run

    return _RUN.sub(spaced, text)


def words_in(word: str, speller: Speller) -> tuple[str, ...]:
    """The known words that make up ``word``, the longest ones; none when they don't."""
    best: list[tuple[int, tuple[str, ...]] | None] = [None] * (len(word) + 1)
    best[0] = (0, ())
    for end in range(1, len(word) + 1):
        for start in range(max(0, end - _LONGEST_PART), end):
            before, part = best[start], word[start:end]
            if before is None or not _may_stand(part, speller):
                continue
            # Squares, so that few long words win over many short ones.
            score = before[0] + len(part) ** 2
            found = best[end]
            if found is None or score > found[0]:
                best[end] = (score, (*before[1], part))
    whole = best[-1]
    if whole is None or len(whole[1]) < 2 or len(word) < _LETTERS_A_PART * len(whole[1]):
        return ()
    return whole[1]


def _may_stand(part: str, speller: Speller) -> bool:
    return part in _SHORT or (len(part) > 3 and speller.knows(part))
