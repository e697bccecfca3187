"""The unit of work: one transaction."""

from typing import Protocol

from sqlmodel import Session

from bot.errors import StoreError
from bot.storage.remembered import Remembered
from bot.storage.vault import Vault


class UnitOfWork:
    """One transaction. Leaving the block without :meth:`commit` rolls back."""

    def __init__(self, session: Session, vault: Vault, remembered: Remembered) -> None:
        """``session``: an open session that nobody else uses."""
        self.session = session
        self.vault = vault
        self.remembered = remembered

    def __enter__(self) -> "UnitOfWork":
        """Begin."""
        return self

    def __exit__(self, *error: object) -> None:
        """Roll back what was not committed."""
        self.session.rollback()
        self.session.close()

    def commit(self) -> None:
        """Make everything since the last commit last."""
        self.session.commit()


class _Stored(Protocol):
    id: int | None


def stored_id(row: _Stored) -> int:
    """The id of a row that has been flushed or read.

    Raises:
        StoreError: the row never reached the database.
    """
    if row.id is None:
        raise StoreError("a row has no id yet")
    return row.id
