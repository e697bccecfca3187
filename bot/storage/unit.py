"""The unit of work: one transaction, in which claimed rows are worked through one by one."""

import logging
from collections.abc import Callable, Iterable
from typing import Protocol, TypeVar

from sqlalchemy import Connection
from sqlmodel import Session

from bot.errors import StoreError, where_it_failed
from bot.storage.cache import TrainingCache
from bot.storage.encryption import Encryption
from bot.storage.erasing.erased import Erased
from bot.storage.prepared import Forms

log = logging.getLogger(__name__)

Row = TypeVar("Row")


class UnitOfWork:
    """One transaction. Leaving the block without :meth:`commit` rolls back.

    Attributes:
        generation: which life of the store this is (:mod:`bot.storage.server.generation`).
        connection: that of the open transaction; None while nothing has begun it.
    """

    def __init__(
        self,
        session: Session,
        encryption: Encryption,
        training_cache: TrainingCache,
        forms: Forms,
        generation: str = "",
    ) -> None:
        """``session``: an open session that nobody else uses."""
        self.session = session
        self.encryption = encryption
        self.training_cache = training_cache
        self.forms = forms
        self.connection: Connection | None = None
        self.erased: list[Erased] = []
        """Whose words this transaction has erased; the database cleans its files after it."""
        self.generation = generation
        self.committed = False
        """Whether anything of it lasts."""
        self._lasting = 0
        self.empties_log = False
        """Words of somebody erased have been sent: no earlier copy of the row may stay."""

    def __enter__(self) -> "UnitOfWork":
        """Begin."""
        return self

    def __exit__(self, *error: object) -> None:
        """Roll back what was not committed."""
        self.connection = None
        self.session.rollback()
        self.session.close()

    def commit(self) -> None:
        """Make everything since the last commit last."""
        self.connection = None
        self.session.commit()
        self.committed = True
        if self.erased:
            # No words in memory either.
            self.encryption.forget()
            self.training_cache.forget()
        self._lasting = len(self.erased)

    def undo(self) -> None:
        """Take back everything since the last commit."""
        self.connection = None
        self.session.rollback()
        del self.erased[self._lasting :]

    def begin(self) -> Connection:
        """Begin the transaction; its connection is ``connection`` until the commit."""
        self.connection = self.session.connection()
        return self.connection


class PartOfWhole(UnitOfWork):
    """A piece of work inside one transaction that goes on after it: a commit lasts with the whole.

    For work of one thread that is done anew when it breaks off: what fails takes everything along.
    """

    def __exit__(self, *error: object) -> None:
        """Leave nothing in memory that the next piece could take for what is stored."""
        if error and error[0] is not None:
            self.session.rollback()
        else:
            self.session.flush()
            self.session.expunge_all()

    def commit(self) -> None:
        """Put everything since the last commit down, for the next piece to see."""
        self.session.flush()

    def undo(self) -> None:
        """There is no way back to the last commit.

        Raises:
            StoreError: always.
        """
        raise StoreError("inside one transaction nothing can be taken back")


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


def one_by_one(
    unit: UnitOfWork,
    rows: Iterable[Row],
    work: Callable[[Row], None],
    set_aside: Callable[[Row], None],
) -> int:
    """Do ``work`` for each row and commit; gives how many rows there were.

    What a failing row changed is undone, and ``set_aside`` moves it out of the sweep's way.
    """
    count = 0
    for row in rows:
        count += 1
        try:
            with unit.session.begin_nested():
                work(row)
        except Exception as error:  # noqa: BLE001 - one bad row must not stop the others
            log.error("due work failed: %s", where_it_failed(error))
            set_aside(row)
    if count:
        unit.commit()
    return count
