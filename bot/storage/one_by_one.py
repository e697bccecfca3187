"""Working through claimed rows so that one that fails holds up none of the others."""

import logging
from collections.abc import Callable, Iterable
from typing import TypeVar

from bot.errors import where_it_failed
from bot.storage.unit import UnitOfWork

log = logging.getLogger(__name__)

Row = TypeVar("Row")


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
            log.error("a due %s failed: %s", type(row).__name__, where_it_failed(error))
            set_aside(row)
    unit.commit()
    return count
