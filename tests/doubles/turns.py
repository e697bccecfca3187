"""Which store a test of the whole program works on: a file or a PostgreSQL server, by turns.

``STORE_OF_TESTS`` chooses: ``sqlite``, ``postgresql``, or ``0`` to ``7``: of eight tests one runs
on PostgreSQL, the one whose turn it is. Which one that is rests on its name alone, so that a test
that fails can be run again; with all eight numbers each test has been on both.
"""

import os
from zlib import crc32

TURNS = 8


def on_postgresql() -> bool:
    """Whether the test that runs now has its turn on PostgreSQL."""
    said = os.environ.get("STORE_OF_TESTS", "0")
    if said in ("sqlite", "postgresql"):
        return said == "postgresql"
    test = os.environ.get("PYTEST_CURRENT_TEST", "").rpartition(" ")[0]
    return bool(test) and crc32(test.encode()) % TURNS == int(said)
