"""From a client's text to words: unified spelling of signs and quotes, emoji as words, gaps kept.

Nothing is thrown away that scope needs: each token remembers what stood before it (nothing, a
comma, a full stop) and where it stood in the text, so that the words that decided can be shown.
"""

import re
import unicodedata
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from enum import IntEnum
from functools import lru_cache

from core.red_flags.emoji import telling_words

MAX_CHARS = 4096  # as many as one chat message holds; more than this is read in part

_WORD = re.compile(r"[^\W_]+(?:'[^\W_]+)*")
_STOPS = frozenset(".!?;\n…")
_BREAKS = frozenset(",-–—:/()|+&*>")
_QUOTES = str.maketrans({"’": "'", "‘": "'", "`": "'", "´": "'", "ʼ": "'", "“": '"', "”": '"'})
_KEEP_S = frozenset(
    ["it", "he", "she", "that", "there", "what", "who", "here", "how", "where", "when", "let"]
)
_DIGIT_EDGE = re.compile(r"^(\d+)([a-z]{2,})$")


class Gap(IntEnum):
    """What stands between a word and the one before it."""

    NONE = 0
    COMMA = 1
    STOP = 2


@dataclass(frozen=True, slots=True)
class Token:
    """One word as the lexicon sees it.

    ``word`` is lower case without accents or apostrophes; ``start`` and ``end`` are offsets in
    the text as written; ``asks`` says that its sentence ends in a question mark.
    """

    word: str
    start: int
    end: int
    gap: Gap = Gap.NONE
    asks: bool = False
    repaired: bool = False


_UNSEEN = re.compile(
    "(?<=[^\\W_])[\u00ad\u200b-\u200f\u202a-\u202e\u2060-\u2064\ufeff]+(?=[^\\W_])"
)


def visible(text: str) -> str:
    """``text`` without the signs that take no room inside a word and would hide it."""
    return text if text.isascii() else _UNSEEN.sub("", text)


def tokenise(text: str, emoji: Mapping[str, str]) -> tuple[Token, ...]:
    """Split ``text`` (any length, read up to ``MAX_CHARS``) into tokens; emoji become words.

    ``emoji`` maps a sign, without variation selectors, to words of the lexicon; other signs say
    their Unicode name.
    """
    text = text[:MAX_CHARS].translate(_QUOTES)
    found: list[Token] = []
    gap = Gap.STOP
    position = 0
    length = len(text)
    while position < length:
        match = _WORD.match(text, position)
        if match:
            found.extend(_word_tokens(match.group(), match.start(), match.end(), gap))
            gap = Gap.NONE
            position = match.end()
            continue
        char = text[position]
        if char in _STOPS:
            if char == "." and _is_inside_number(text, position):
                position += 1
                continue
            gap = Gap.STOP
            if char == "?":
                _mark_question(found)
        elif char in _BREAKS:
            gap = max(gap, Gap.COMMA)
        elif ord(char) > 0x2000:
            position, gap = _read_emoji(text, position, emoji, found, gap)
            continue
        position += 1
    return tuple(found)


def _is_inside_number(text: str, position: int) -> bool:
    return (
        0 < position < len(text) - 1
        and text[position - 1].isdigit()
        and text[position + 1].isdigit()
    )


def _read_emoji(
    text: str, position: int, emoji: Mapping[str, str], found: list[Token], gap: Gap
) -> tuple[int, Gap]:
    """Read one sign at ``position``: the longest known sequence of up to four characters wins."""
    for size in (4, 3, 2, 1):
        sign = text[position : position + size].replace("\ufe0f", "")
        word = emoji.get(sign) if sign else None
        if word:
            for part in word.split():
                if not (found and found[-1].word == part and gap is Gap.NONE):
                    found.append(Token(part, position, min(position + size, len(text)), gap))
                gap = Gap.NONE
            return position + size, gap
    for part in telling_words(text[position]):
        if not (found and found[-1].word == part and gap is Gap.NONE):
            found.append(Token(part, position, position + 1, gap))
        gap = Gap.NONE
    return position + 1, gap


def _mark_question(found: list[Token]) -> None:
    """Mark the words of the sentence that a question mark has just closed."""
    for index in range(len(found) - 1, -1, -1):
        if found[index].asks:
            return
        found[index] = replace(found[index], asks=True)
        if found[index].gap is Gap.STOP:
            return


def _word_tokens(raw: str, start: int, end: int, gap: Gap) -> list[Token]:
    word = plain(raw)
    if not word:
        return []
    edge = _DIGIT_EDGE.match(word)
    if edge and edge.group(2) not in ("st", "nd", "rd", "th"):
        cut = start + len(edge.group(1))
        return [Token(edge.group(1), start, cut, gap), Token(edge.group(2), cut, end)]
    return [Token(word, start, end, gap)]


LONGEST_CACHED = 64
"""Characters; a longer one is no word, and the cache is to stay small whatever is written."""


def plain(raw: str) -> str:
    """``raw`` in lower case, without accents, with apostrophes and the possessive 's removed."""
    return _cached_plain(raw) if len(raw) <= LONGEST_CACHED else _plain(raw)


def _plain(raw: str) -> str:
    word = raw.lower()
    if not word.isascii():
        parts = unicodedata.normalize("NFKD", word)
        word = "".join(c for c in parts if not unicodedata.combining(c))
    if "'" in word:
        if word.endswith("'s") and word[:-2] not in _KEEP_S:
            word = word[:-2]
        word = word.replace("'", "")
    return word


_cached_plain = lru_cache(maxsize=4096)(_plain)


_BEFORE_NOT = frozenset(
    {"can", "could", "do", "did", "does", "is", "are", "was", "were", "has", "have", "had"}
    | {"will", "would", "should"}
)


def contracted(tokens: Iterable[Token]) -> list[Token]:
    """``tokens`` with "could not" as the one word "couldnt", as it is mostly written."""
    joined: list[Token] = []
    for token in tokens:
        waiting = joined[-1] if joined else None
        joins = token.word == "not" and token.gap is Gap.NONE
        if waiting is not None and joins and waiting.word in _BEFORE_NOT:
            word = "cant" if waiting.word == "can" else f"{waiting.word}nt"
            joined[-1] = replace(waiting, word=word, end=token.end)
        else:
            joined.append(token)
    return joined
