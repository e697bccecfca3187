"""Fitting texts into Telegram's limits: split or shortened at the end of a sentence.

Texts go out without a parse mode, so nothing that people write can be taken for markup: "<b>" and
"&" arrive as they were typed. Telegram counts UTF-16 units (Bot API, "MessageEntity"), so an emoji
counts as two.
"""

import re

LONGEST_TEXT = 4096
"""Units of one message (Bot API, sendMessage)."""

LONGEST_CAPTION = 1024
"""Units below a picture (Bot API, sendPhoto)."""

_PLACES = (
    re.compile(r"\n{2,}"),  # between paragraphs
    re.compile(r"(?<=[.!?…])\s+|\n"),  # between sentences
    re.compile(r"\s+"),  # between words
)


def length(text: str) -> int:
    """How long Telegram takes ``text`` to be."""
    return len(text) + sum(character > "\uffff" for character in text)


def split(text: str, first: int, following: int = LONGEST_TEXT) -> list[str]:
    """``text`` in parts: the first of at most ``first`` units, the others of ``following``."""
    parts, rest, most = [], text.strip(), first
    while length(rest) > most:
        head, rest = _cut(rest, most)
        parts.append(head)
        most = following
    return [*parts, rest]


def _cut(text: str, most: int) -> tuple[str, str]:
    """The longest good beginning of at most ``most`` units, and what follows it."""
    window = _window(text, most)
    for place in _PLACES:
        ends = [found for found in place.finditer(text, 0, window + 1) if found.start() > 0]
        fitting = [found for found in ends if found.start() <= window]
        # A cut in the first half would leave many short messages: try a finer place instead.
        if fitting and fitting[-1].start() >= window // 2:
            return text[: fitting[-1].start()], text[fitting[-1].end() :]
    return text[:window], text[window:]


def _window(text: str, most: int) -> int:
    """How many characters of ``text`` are at most ``most`` units."""
    units = 0
    for place, character in enumerate(text):
        units += 2 if character > "\uffff" else 1
        if units > most:
            return place
    return len(text)
