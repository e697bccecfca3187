"""The unit of work: one transaction."""

from functools import cache
from typing import Any, Protocol, TypeVar

from sqlalchemy import Select, bindparam, event, inspect, select
from sqlmodel import Session, SQLModel

from bot.errors import StoreError
from bot.storage.remembered import Remembered
from bot.storage.vault import Vault

_READ = "rows_read"

Row = TypeVar("Row", bound=SQLModel)


class UnitOfWork:
    """One transaction. Leaving the block without :meth:`commit` rolls back."""

    def __init__(self, session: Session, vault: Vault, remembered: Remembered) -> None:
        """``session``: an open session that nobody else uses."""
        self.session = session
        self.vault = vault
        self.remembered = remembered
        self._read: list[object] = []
        session.info[_READ] = self._read

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
        self._read.clear()

    def find(self, kind: type[Row], key: int) -> Row | None:
        """The row with this key, asked for once a transaction; ``None``: there is none."""
        known = self.session.identity_map.get((kind, (key,), None))
        if isinstance(known, kind) and not inspect(known).expired:
            return known
        return self.session.execute(_by_key(kind), {"key": key}).scalars().first()

    def get(self, kind: type[Row], key: int) -> Row:
        """The same of a row that must be there.

        Raises:
            NoResultFound: there is none.
        """
        return self.find(kind, key) or self.session.get_one(kind, key)


@event.listens_for(Session, "loaded_as_persistent")
def _hold(session: Session, row: object) -> None:
    """Hold what was read until the commit: a session forgets a row that nobody else holds."""
    read = session.info.get(_READ)
    if read is not None:
        read.append(row)


@cache
def _by_key(kind: type[Any]) -> Select[Any]:
    """Built once: putting a question into SQL costs more than the answer."""
    (key,) = inspect(kind).primary_key
    return select(kind).where(key == bindparam("key"))


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
