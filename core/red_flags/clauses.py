"""Cutting a text into clauses, and a sentence number for each word.

A rule is satisfied within one clause only, and most scope cues end with their clause ("not dizzy
but my calf is hot"). Dictated text has no stops, so contrast words cut too.
"""

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from core.red_flags.matching import Hits
from core.red_flags.tokens import Gap, Token

_LONG, _LONGEST = 40, 60  # words: a longer sentence is cut at the next joining word, or anyhow
_FRAGMENT = 4  # words: two sentences this short lean on each other


@dataclass(frozen=True, slots=True)
class Clauses:
    """``clauses`` and ``sentences`` are token ranges [start, end), in order, without holes."""

    clauses: tuple[tuple[int, int], ...]
    sentences: tuple[tuple[int, int], ...]

    def clause_of(self, token: int) -> tuple[int, int]:
        """The clause in which ``token`` stands."""
        return _range_of(self.clauses, token)

    def sentence_of(self, token: int) -> tuple[int, int]:
        """The sentence in which ``token`` stands."""
        return _range_of(self.sentences, token)

    def clause_after(self, clause: tuple[int, int]) -> tuple[int, int] | None:
        """The next clause of the same sentence, if there is one."""
        index = self.clauses.index(clause) + 1
        if index < len(self.clauses):
            following = self.clauses[index]
            if self.sentence_of(following[0]) == self.sentence_of(clause[0]):
                return following
        return None


def _range_of(ranges: Sequence[tuple[int, int]], token: int) -> tuple[int, int]:
    return ranges[max(0, bisect_right(ranges, token, key=lambda r: r[0]) - 1)]


def split_clauses(tokens: Sequence[Token], hits: Hits) -> Clauses:
    """Cut at full stops into sentences, and at contrast words into clauses."""
    stops = _real_stops([i for i, t in enumerate(tokens) if i and t.gap is Gap.STOP], tokens, hits)
    stops = sorted({*stops, *_breaths(stops, tokens)})
    contrasts = [h.start for h in hits.of("CONTRAST") if h.start]
    return Clauses(_ranges(sorted({*stops, *contrasts}), len(tokens)), _ranges(stops, len(tokens)))


def _real_stops(stops: Sequence[int], tokens: Sequence[Token], hits: Hits) -> list[int]:
    """``stops`` without those around fragments: "chest. tight. scared" is one sentence.

    A fragment that denies or asks keeps its stops.
    """
    edges = [0, *stops, len(tokens)]
    kept: list[int] = []
    for before, stop, after in zip(edges, edges[1:], edges[2:], strict=False):
        fragment = max(stop - before, after - stop) <= _FRAGMENT
        if not fragment or hits.any_within(("NEG",), before, after) or tokens[stop - 1].asks:
            kept.append(stop)
    return kept


def _breaths(stops: Sequence[int], tokens: Sequence[Token]) -> list[int]:
    """Extra cuts in sentences that run on and on: no cue reaches over forty words."""
    cuts: list[int] = []
    for start, end in pairwise([0, *stops, len(tokens)]):
        last = start
        for index in range(start, end):
            natural = tokens[index].word in ("and", "so") or tokens[index].gap is Gap.COMMA
            if index - last >= _LONGEST or (index - last >= _LONG and natural):
                cuts.append(index)
                last = index
    return cuts


def _ranges(cuts: Sequence[int], length: int) -> tuple[tuple[int, int], ...]:
    edges = [0, *cuts, length]
    return tuple((a, b) for a, b in pairwise(edges) if a < b) or ((0, 0),)
