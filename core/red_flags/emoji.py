"""What an emoji says, in words: its Unicode name without the words about the drawing."""

import unicodedata
from functools import lru_cache

_NOISE = frozenset(
    [
        "sign",
        "symbol",
        "face",
        "with",
        "selector",
        "heavy",
        "white",
        "black",
        "large",
        "of",
        "no",
        "see",
    ]
)
_MOST_WORDS = 4


_AILING = frozenset(
    {"vomiting", "nauseated", "thermometer", "bandage", "dizzy", "spiral", "exploding", "sneezing"}
)


def telling_words(char: str) -> tuple[str, ...]:
    """As :func:`name_words`, but of a face only what it suffers from: a smile has no eyes."""
    words = name_words(char)
    if "FACE" in unicodedata.name(char, ""):
        return tuple(word for word in words if word in _AILING)
    return words


@lru_cache(maxsize=1024)
def name_words(char: str) -> tuple[str, ...]:
    """The telling words of the Unicode name of ``char``; empty for joiners and unnamed signs."""
    if unicodedata.category(char) not in ("So", "Sk"):
        return ()
    words = unicodedata.name(char, "").lower().replace("-", " ").split()
    return tuple(word for word in words if word not in _NOISE and word.isalpha())[:_MOST_WORDS]
