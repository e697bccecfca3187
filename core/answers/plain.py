"""Typed words made alike: small letters, no accents, no apostrophes, one word after the other."""

import re
import unicodedata

_APOSTROPHES = re.compile("['\u2018\u2019\u201b\u02bc\u02b9\u2032\u00b4\u0060\uff07]")
WORD = re.compile(r"\d+(?:[.,:]\d+)*|[^\W\d_]+")
BREAK = "|"
"""Stands between two clauses."""

_PIECE = re.compile(rf"{WORD.pattern}|(?P<mark>[,.;:!?\n()\u2013\u2014]|\s-+\s)")


def alike(text: str) -> str:
    """Small letters without accents and apostrophes; marks stay."""
    closed = _APOSTROPHES.sub("", text.casefold())
    if closed.isascii():
        # There is nothing to take apart: nearly all words, and most of those read at a start.
        return closed
    plain = unicodedata.normalize("NFKD", closed)
    return "".join(letter for letter in plain if not unicodedata.combining(letter))


def bare(text: str) -> list[str]:
    """The words of a phrase."""
    return WORD.findall(alike(text))


def pieces(text: str) -> list[str]:
    """Words and figures in order, with :data:`BREAK` where a mark ends a clause."""
    return [BREAK if one["mark"] else one.group() for one in _PIECE.finditer(alike(text))]
