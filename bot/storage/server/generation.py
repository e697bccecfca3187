"""Which life of the store a button was shown in: ids begin again where a backup ended.

After a restore, what was made since the backup is gone, and the next alert or client gets the id of
one that is gone. Buttons of the lost days stand in chats still; they must not act on whoever has
that id now.
"""

from datetime import datetime

from bot.storage.tables import KeyProofRow
from bot.storage.unit import UnitOfWork

MARK = "!"
_DIGITS = "0123456789abcdefghijklmnopqrstuvwxyz"


def marked(tap: str, generation: str) -> str:
    """What a button sends back, with the life of the store that it is shown in."""
    return f"{tap}{MARK}{generation}" if generation else tap


def unmarked(tap: str) -> tuple[str, str]:
    """The same without it, and the life it was shown in; "" before the first restore."""
    bare, mark, generation = tap.rpartition(MARK)
    return (bare, generation) if mark else (tap, "")


def generation_of(unit: UnitOfWork) -> str:
    """The life that a store is in now; "" where it was never brought back."""
    row = unit.session.get(KeyProofRow, 1)
    return "" if row is None else row.generation


def begin_generation(unit: UnitOfWork, now: datetime) -> None:
    """The store has been brought back from a backup at ``now``; commits."""
    row = unit.session.get_one(KeyProofRow, 1)
    row.generation = _short(int(now.timestamp()))
    unit.commit()


def _short(number: int) -> str:
    """A number in few characters: what a button sends back may have 64 bytes."""
    found = ""
    while number:
        number, digit = divmod(number, len(_DIGITS))
        found = _DIGITS[digit] + found
    return found
