"""Reading an answer of the platform that cannot be read as a whole: its updates, one by one.

One update that is nested without end, or holds a number of a million digits, must not keep back the
ninety-nine beside it.
"""

import json
import re
from collections.abc import Iterator, Sequence
from typing import Any

_RESULT = re.compile(r'\s*\{\s*"ok"\s*:\s*true\s*,\s*"result"\s*:\s*\[')
_ID = re.compile(r'\s*\{\s*"update_id"\s*:\s*(\d{1,15})\b')
_SIGNS = re.compile(r'"(?:[^"\\]|\\.)*"|[\[\]{}]', re.DOTALL)
"""Strings, which may hold any sign, and what opens or closes a value."""


def updates_one_by_one(text: str) -> list[dict[str, Any]] | None:
    """The updates of an answer to "getUpdates"; ``None`` when it is no such answer.

    Of one that cannot be read only its id is left: ``{"update_id": 7}``.
    """
    start = _RESULT.match(text)
    if start is None:
        return None
    found: list[dict[str, Any]] = []
    for part in _objects(text, start.end()):
        update = _update(part)
        if update is not None:
            found.append(update)
    return found


def update_of(text: str) -> dict[str, Any] | None:
    """What is left of a single update that cannot be read: its id; ``None`` when it is none."""
    known = _ID.match(text)
    return None if known is None else {"update_id": int(known[1])}


def _update(part: str) -> dict[str, Any] | None:
    try:
        value = json.loads(part)
    except (ValueError, RecursionError):
        return update_of(part)
    return value if isinstance(value, dict) else None


def _objects(text: str, start: int) -> Iterator[str]:
    """The objects of a list that begins at ``start``, as they are written."""
    depth, begin = 0, start
    for sign in _SIGNS.finditer(text, start):
        if sign[0] in "[{":
            if depth == 0:
                begin = sign.start()
            depth += 1
        elif sign[0] in "]}":
            depth -= 1
            if depth < 0:
                return
            if depth == 0 and text[begin] == "{":
                yield text[begin : sign.end()]


def ids_of(updates: Sequence[object]) -> list[int]:
    """The ids of the updates that have one."""
    return [found for found in map(id_of, updates) if found is not None]


def id_of(update: object) -> int | None:
    """An update's id: a whole number that JSON carries unharmed; ``None`` when it has none."""
    found = update.get("update_id") if isinstance(update, dict) else None
    if not isinstance(found, int) or isinstance(found, bool):
        return None
    return found if 0 <= found < 2**53 else None
