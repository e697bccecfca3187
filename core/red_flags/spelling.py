"""Spelling repair toward the lexicon's own words only.

A word that is common English is never touched, so "cheat" stays "cheat" (the lexicon lists such
real-word slips beside the concept they stand for). Candidates come from a table of deletions, so
the cost of a word does not grow with the lexicon (symmetric deletion, after Garbe 2012).
"""

from collections.abc import Collection, Iterable, Mapping
from dataclasses import replace
from itertools import combinations, permutations

from rapidfuzz.distance import OSA

from core.red_flags.tokens import Token

_ONE_SLIP_FROM = 4  # letters: shorter words have too many neighbours
_TWO_SLIPS_FROM = 7
_LONGEST = 20
_MIN_PART = 2  # letters of the shorter part when a missing space is put back


class Speller:
    """Repairs words toward ``vocabulary``; leaves every word of ``common`` alone."""

    def __init__(
        self,
        vocabulary: Collection[str],
        common: Collection[str],
        weights: Mapping[str, int] | None = None,
    ) -> None:
        """``weights`` breaks ties: the higher word wins (default: all equal)."""
        self._vocabulary = frozenset(vocabulary)
        self._common = frozenset(common)
        self._weights = dict(weights or {})
        self._made: Mapping[str, tuple[str, ...]] | None = None

    @property
    def _deletions(self) -> Mapping[str, tuple[str, ...]]:
        """Words by what is left of them; made with the first word that needs repair.

        It takes a tenth of a start's reading, and many a start reads no misspelt word for hours.
        """
        # Two threads at once would make the same table twice; either may be kept.
        if self._made is None:
            self._made = self._table()
        return self._made

    def _table(self) -> Mapping[str, tuple[str, ...]]:
        deletions: dict[str, list[str]] = {}
        for word in sorted(self._vocabulary):
            if _ONE_SLIP_FROM <= len(word) <= _LONGEST and word.isalpha():
                for variant in _deletions(word, _slips(len(word))):
                    deletions.setdefault(variant, []).append(word)
        # Most variants lead to the same few words: each such group is kept once.
        groups: dict[tuple[str, ...], tuple[str, ...]] = {}
        return {
            variant: groups.setdefault(words, words)
            for variant, words in ((one, tuple(found)) for one, found in deletions.items())
        }

    def knows(self, word: str) -> bool:
        """Whether ``word`` needs no repair: the lexicon's own or common English."""
        return word in self._vocabulary or word in self._common

    def repair_all(self, tokens: Iterable[Token]) -> tuple[Token, ...]:
        """Repair each unknown token; one token may become two when a space was missing."""
        repaired: list[Token] = []
        for token in tokens:
            if self.knows(token.word) or not token.word.isalpha():
                repaired.append(token)
            else:
                repaired.extend(self._repair_token(token))
        return tuple(repaired)

    def repair(self, word: str) -> str | None:
        """The lexicon word meant by ``word``, or None when nothing is near enough."""
        if len(word) > _LONGEST:
            return None
        squeezed = _squeeze(word)
        if squeezed != word and squeezed in self._vocabulary:
            return squeezed
        single = _squeeze(word, keep=1)
        if single != word and single in self._vocabulary and len(word) - len(single) > 1:
            return single
        best: tuple[int, int, int, str] | None = None
        seen: set[str] = set()
        deletions = self._deletions
        for variant in _deletions(squeezed, _slips(len(squeezed))):
            for candidate in deletions.get(variant, ()):
                if candidate in seen:
                    continue
                seen.add(candidate)
                rank = self._rank(squeezed, candidate)
                if rank is not None and (best is None or rank < best):
                    best = rank
        return best[3] if best else None

    def _rank(self, word: str, candidate: str) -> tuple[int, int, int, str] | None:
        allowed = min(_slips(len(word) + 1), _slips(len(candidate)))
        distance = OSA.distance(word, candidate, score_cutoff=allowed)
        if distance > allowed:
            return None
        swapped_first = 0 if word[0] == candidate[0] else 1
        short = len(candidate) < _TWO_SLIPS_FROM - 1 and distance == allowed
        swap = word[1:2] == candidate[:1] or word[:1] == candidate[1:2]
        if swapped_first and short and not swap:
            return None  # a short word with another first letter is more likely another word
        near = distance + swapped_first
        unlikely = _unlikeliness(word, candidate) if distance == 1 else 0
        return (near, unlikely, -self._weights.get(candidate, 0), candidate)

    def _repair_token(self, token: Token) -> list[Token]:
        word = token.word
        whole = self.repair(word) if len(word) >= _ONE_SLIP_FROM else None
        if whole is not None and OSA.distance(word, whole) == 1:
            return [replace(token, word=whole, repaired=True)]
        parts = self._split(word)
        if parts is not None:
            left, right, cut = parts
            middle = token.start + cut
            return [
                replace(token, word=left, end=middle, repaired=True),
                replace(token, word=right, start=middle, gap=type(token.gap)(0), repaired=True),
            ]
        if whole is not None:
            return [replace(token, word=whole, repaired=True)]
        return [token]

    def _split(self, word: str) -> tuple[str, str, int] | None:
        """Put back one missing space; one part must be the lexicon's, the other any known word."""
        if not 5 <= len(word) <= 2 * _LONGEST:
            return None
        best: tuple[int, str, str, int] | None = None
        for cut in range(_MIN_PART, len(word) - _MIN_PART + 1):
            left, right = word[:cut], word[cut:]
            known = self._part_score(left) + self._part_score(right)
            if self._part_score(left) and self._part_score(right):
                owned = (left in self._vocabulary) + (right in self._vocabulary)
                longest = max(len(left), len(right))
                if owned and longest >= _ONE_SLIP_FROM - 1:
                    rank = known * 10 + longest
                    if best is None or rank > best[0]:
                        best = (rank, left, right, cut)
        return best[1:] if best else None

    def _part_score(self, part: str) -> int:
        if part in self._vocabulary:
            return 2 if len(part) > 2 or part in _SHORT_PARTS else 0
        if part in self._common:
            return 1 if len(part) > 3 or part in _SHORT_PARTS else 0
        return 0


_LIKELY_SWAPS = frozenset(
    pair
    for group in (
        "aeiouy", "cksq", "fv", "dt", "gj", "mn", "bp", "szx", "lr", "wv",
        "qw", "we", "er", "rt", "ty", "yu", "ui", "io", "op", "as", "sd", "df", "fg", "gh", "hj",
        "jk", "kl", "xc", "cv", "vb", "bn", "qa", "ws", "ed", "rf", "tg", "yh", "uj", "ik", "ol",
        "az", "sx", "dc", "gb", "hn", "jm", "aw", "de", "fr", "gt", "hy", "ju", "ki", "lo",
    )
    for pair in permutations(group, 2)
)  # fmt: skip
"""Letters taken for each other: vowels, letters of like sound, and neighbours on the keyboard."""


def _unlikeliness(word: str, candidate: str) -> int:
    """Of the one slip between them: 0 a letter lost, doubled or swapped, 1 beside, 2 any other."""
    apart = [(a, b) for a, b in zip(word, candidate, strict=False) if a != b]
    if len(word) != len(candidate) or len(apart) > 1:
        return 0
    return 1 if all(pair in _LIKELY_SWAPS for pair in apart) else 2


_SHORT_PARTS = frozenset(
    {"a", "i", "im", "my", "no", "in", "on", "of", "at", "is", "it", "me", "the", "and", "was"}
    | {"has", "had", "not", "so", "to", "up", "out", "all", "got", "get", "been"}
)


def _slips(letters: int) -> int:
    if letters >= _TWO_SLIPS_FROM:
        return 2
    return 1 if letters >= _ONE_SLIP_FROM else 0


def _squeeze(word: str, keep: int = 2) -> str:
    """``word`` with runs of one letter cut to ``keep`` ("sooo" -> "soo")."""
    kept: list[str] = []
    for letter in word:
        if len(kept) >= keep and all(k == letter for k in kept[-keep:]):
            continue
        kept.append(letter)
    return "".join(kept)


def _deletions(word: str, slips: int) -> set[str]:
    """``word`` and every string left when up to ``slips`` letters are taken out."""
    return {
        "".join(left) for out in range(slips + 1) for left in combinations(word, len(word) - out)
    }
