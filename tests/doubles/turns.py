"""Which kind of store a practice of tests works on: a file, or a PostgreSQL server.

A test that has a practice runs once on each; ``STORE_OF_TESTS`` set to ``sqlite`` or ``postgresql``
leaves the other out.
"""

import os
from collections.abc import Iterator
from contextlib import contextmanager

KINDS = ("sqlite", "postgresql")
_now = [KINDS[0]]


def wanted_kinds() -> tuple[str, ...]:
    """The kinds that each test is to run on."""
    said = os.environ.get("STORE_OF_TESTS", "")
    return (said,) if said in KINDS else KINDS


def on_postgresql() -> bool:
    """Whether a practice that begins now works on PostgreSQL."""
    return _now[-1] == "postgresql"


@contextmanager
def working_on(kind: str) -> Iterator[None]:
    """While this is open, each practice that begins works on this kind."""
    _now.append(kind)
    try:
        yield
    finally:
        _now.remove(kind)
