"""Cutting a text into the word pieces that the second opinion was trained on.

Greedy longest match, as in BERT (Devlin et al. 2019, NAACL-HLT): a word unknown as a whole is cut
into the longest known pieces, so that a misspelt word still says something. Emoji become their
Unicode names.
"""

import re
import unicodedata
from collections.abc import Iterator, Mapping

from core.red_flags.emoji import name_words

_PIECE = re.compile(r"[a-z]+|[0-9]+|[^\sa-z0-9]")
_LONGEST_WORD = 40
_QUOTES = str.maketrans({"’": "'", "‘": "'", "`": "'", "“": '"', "”": '"', "–": "-", "—": "-"})

CLASSIFY, SEPARATE, UNKNOWN = "[CLS]", "[SEP]", "[UNK]"


def spoken(text: str) -> str:
    """``text`` in lower case ASCII: accents removed, emoji replaced by their names."""
    text = text.translate(_QUOTES)
    if text.isascii():
        return text.lower()
    parts: list[str] = []
    for char in unicodedata.normalize("NFKD", text.lower()):
        if char.isascii():
            parts.append(char)
        elif not unicodedata.combining(char):
            parts.append(f" {' '.join(name_words(char))} ")
    return "".join(parts)


def pieces(text: str, ids: Mapping[str, int], most: int) -> list[int]:
    """The ids of the pieces of ``text`` between the classifier's marks, ``most`` at most."""
    found = [ids[CLASSIFY]]
    for word in _PIECE.findall(spoken(text)):
        found.extend(_word_pieces(word, ids))
        if len(found) >= most - 1:
            del found[most - 1 :]
            break
    found.append(ids[SEPARATE])
    return found


def _word_pieces(word: str, ids: Mapping[str, int]) -> Iterator[int]:
    if len(word) > _LONGEST_WORD:
        yield ids[UNKNOWN]
        return
    start = 0
    cut: list[int] = []
    while start < len(word):
        end = len(word)
        while end > start:
            piece = word[start:end] if start == 0 else "##" + word[start:end]
            if piece in ids:
                break
            end -= 1
        else:
            yield ids[UNKNOWN]
            return
        cut.append(ids[piece])
        start = end
    yield from cut
