"""The part of a long message that the second opinion reads.

It is slow, so of a message longer than about seventy words it reads the sentences that hold
telling words, then the latest others, as many as fit. The lexicon always reads all.
"""

from collections.abc import Collection, Sequence

from core.red_flags.clauses import Clauses
from core.red_flags.matching import Hits
from core.red_flags.tokens import Token

MOST_CHARS = 300


def excerpt(
    text: str, tokens: Sequence[Token], clauses: Clauses, hits: Hits, telling: Collection[str]
) -> str:
    """``text`` itself when short, else its most telling sentences in their order, joined.

    At most MOST_CHARS characters.
    """
    if len(text) <= MOST_CHARS or not tokens:
        return text[:MOST_CHARS]
    heard = sorted(hit.start for concept in telling for hit in hits.of(concept))
    ranked = sorted(
        clauses.sentences,
        key=lambda s: (-sum(s[0] <= start < s[1] for start in set(heard)), -s[0]),
    )
    chosen: list[tuple[int, int]] = []
    room = MOST_CHARS
    for start, end in ranked:
        length = tokens[end - 1].end - tokens[start].start + 2
        if length <= room:
            chosen.append((start, end))
            room -= length
    if not chosen:
        start, end = ranked[0]
        return text[tokens[start].start :][:MOST_CHARS]
    return ". ".join(text[tokens[s].start : tokens[e - 1].end] for s, e in sorted(chosen))
