"""Keeping secrets out of logs and error reports, whatever a library writes there.

The libraries that know a secret are told to be silent as well; this is for the day on which one of
them says more than we know of.
"""

import logging
import sys
import traceback
from collections.abc import Sequence
from types import TracebackType

HIDDEN = "[hidden]"
SHORTEST = 6
"""Characters; anything shorter may be part of an ordinary word."""


def hide(text: str, words: Sequence[str]) -> str:
    """``text`` without these words, but for those too short to be told from ordinary ones."""
    for word in sorted(words, key=len, reverse=True):
        if len(word) >= SHORTEST:
            text = text.replace(word, HIDDEN)
    return text


def keep_out_of_reports(words: Sequence[str]) -> None:
    """From now on neither log lines nor tracebacks of this process show these words."""
    for handler in logging.getLogger().handlers:
        handler.setFormatter(_HidingFormatter(handler.formatter, words))

    def report(
        kind: type[BaseException], error: BaseException, trace: TracebackType | None
    ) -> None:
        written = "".join(traceback.format_exception(kind, error, trace))
        sys.stderr.write(hide(written, words))

    sys.excepthook = report


class _HidingFormatter(logging.Formatter):
    """Formats as another formatter does, then takes the secrets out of the finished line."""

    inner: logging.Formatter

    def __init__(self, inner: logging.Formatter | None, words: Sequence[str]) -> None:
        super().__init__()
        while isinstance(inner, _HidingFormatter):
            inner = inner.inner
        self.inner = inner or logging.Formatter()
        self._words = words

    def format(self, record: logging.LogRecord) -> str:
        return hide(self.inner.format(record), self._words)
