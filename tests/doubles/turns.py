"""Which store a scenario works on: a file or a PostgreSQL server, by turns.

``STORE_OF_TESTS`` chooses: ``sqlite``, ``postgresql``, or ``0`` or ``1``: of two scenarios one runs
on PostgreSQL, the one whose turn it is. Which one that is rests on its name alone, so that a test
that fails can be run again; with both numbers each has been on both.
"""

import os
from zlib import crc32

TURNS = 2
HERE = "tests/scenarios/"
"""Other tests of the whole program look at files; the store's own tests run on both kinds."""


def on_postgresql() -> bool:
    """Whether the test that runs now has its turn on PostgreSQL."""
    said = os.environ.get("STORE_OF_TESTS", "0")
    if said in ("sqlite", "postgresql"):
        return said == "postgresql"
    test = os.environ.get("PYTEST_CURRENT_TEST", "").rpartition(" ")[0]
    return test.startswith(HERE) and crc32(test.encode()) % TURNS == int(said)
