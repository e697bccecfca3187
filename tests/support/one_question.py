"""One question a message: counted in what is sent, where templates have been joined."""

import re
from collections.abc import Iterable

QUOTED = re.compile("[\N{LEFT DOUBLE QUOTATION MARK}].*?[\N{RIGHT DOUBLE QUOTATION MARK}]", re.S)
"""Names of buttons, and words of somebody that are repeated."""


def asks_two(text: str, typed: Iterable[str] = ()) -> bool:
    """Whether a message asks more than one thing.

    Args:
        typed: what people typed themselves; it may stand in a message as it is.
    """
    own = QUOTED.sub("", text)
    if own.count("?") < 2:
        return False
    for words in sorted((one.strip() for one in typed if "?" in one), key=len, reverse=True):
        own = own.replace(words, "")
    return own.count("?") > 1
