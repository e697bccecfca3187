"""What the second opinion is given to read of a message.

It is slow, so of a message longer than about seventy words it reads the sentences that hold
telling words, then the latest others, as many as fit. The lexicon always reads all. Words that
were mended stand as they were meant: it knows few misspelt ones.
"""

from collections.abc import Collection, Sequence

from core.red_flags.clauses import Clauses
from core.red_flags.matching import Hits
from core.red_flags.tokens import Token, plain

MOST_CHARS = 300


def excerpt(
    text: str, tokens: Sequence[Token], clauses: Clauses, hits: Hits, telling: Collection[str]
) -> str:
    """``text`` as it was meant when short, else its most telling sentences in order, joined.

    At most MOST_CHARS characters as written; words put back whole may add a few.
    """
    if len(text) <= MOST_CHARS or not tokens:
        return as_meant(text[:MOST_CHARS], tokens)
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
        begin = tokens[start].start
        return as_meant(text[: begin + MOST_CHARS], tokens[start:end], begin)[:MOST_CHARS]
    return ". ".join(
        as_meant(text[: tokens[e - 1].end], tokens[s:e], tokens[s].start) for s, e in sorted(chosen)
    )


def as_meant(text: str, tokens: Sequence[Token], begin: int = 0) -> str:
    """``text`` from ``begin`` on with the words of ``tokens`` that were mended put in.

    Only whole words of letters are replaced, and a missing space is put back; all else stays as
    it was written.
    """
    parts: list[str] = []
    at = begin
    for token in tokens:
        written = text[token.start : token.end]
        if token.start < at or not written.isalpha():
            continue
        parts.append(text[at : token.start])
        if token.start == at > begin and text[at - 1].isalpha():
            parts.append(" ")
        parts.append(written if plain(written) == token.word else token.word)
        at = token.end
    return "".join([*parts, text[at:]])
