"""Rewriting an SQLite file, so that nothing that was erased stands in it or beside it any more.

Every connection overwrites what it deletes (``secure_delete``). What a file of before that still
holds in free pages goes with VACUUM; earlier versions of pages stand in the log, which is emptied.
"""

import sqlite3
from contextlib import closing

from bot.errors import StoreError

REWRITTEN = 1
"""The file's own number (``PRAGMA user_version``) once it has been written anew: what was left
in it in the open before answers were sealed (migration 0008) is gone."""


def is_rewritten(path: str) -> bool:
    """Whether the file has ever been written anew since its answers are sealed.

    Raises:
        StoreError: it cannot be read.
    """
    try:
        with closing(sqlite3.connect(path)) as connection:
            (number,) = connection.execute("PRAGMA user_version").fetchone()
    except sqlite3.Error as error:
        raise StoreError(f"the file cannot be read now: {error}") from None
    return int(number) >= REWRITTEN


def scrub(path: str, *, rewrite: bool) -> None:
    """Empty the log of the file at ``path`` and, with ``rewrite``, write the whole file anew.

    Waits for nobody: while somebody reads, it cannot be done now.

    Raises:
        StoreError: it could not be done, or not all of it.
    """
    try:
        with closing(sqlite3.connect(path, timeout=0, isolation_level=None)) as connection:
            connection.execute("PRAGMA synchronous=FULL")
            connection.execute("PRAGMA secure_delete=ON")
            if rewrite:
                connection.execute("VACUUM")
                connection.execute(f"PRAGMA user_version = {REWRITTEN:d}")
            (busy, _, _) = connection.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()
    except sqlite3.Error as error:
        raise StoreError(f"the file cannot be rewritten now: {error}") from None
    if busy:
        raise StoreError("the log cannot be emptied while somebody reads")
