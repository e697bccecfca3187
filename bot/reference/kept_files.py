"""What is made of the program's own files, kept beside them for the next start.

As Python does with its modules, what took long to make of a file is kept in ``__pycache__`` beside
it; where nothing can be written there, it is made each time. What is kept counts only for the very
text that it was made of, whole, and for the same Python: it cannot be out of date.
"""

import os
import sys
import threading
from contextlib import suppress
from hashlib import sha256
from pathlib import Path

SHIPPED = Path(__file__).parents[2]
"""Below it lie the program's own files; nothing is kept beside those of a practice."""

FOLDER = "__pycache__"
_DIGEST = sha256().digest_size


def kept(file: Path, of: str) -> bytes | None:
    """What is kept for ``file``; None where there is nothing that is whole and made of ``of``.

    Args:
        file: one of the program's own, or what would be one.
        of: all that it depends on: the text, and who made something of it.
    """
    try:
        found = _place(file).read_bytes()
    except OSError:
        return None
    made = found[2 * _DIGEST :]
    return made if found[: 2 * _DIGEST] == _digests(of, made) else None


def keep(file: Path, of: str, made: bytes) -> None:
    """Keep what was made of ``of``, whole or not at all; what cannot be kept is left."""
    if sys.dont_write_bytecode or not file.is_relative_to(SHIPPED):
        return
    place = _place(file)
    new = place.with_name(f"{place.name}.{os.getpid()}-{threading.get_ident()}")
    with suppress(OSError):
        place.parent.mkdir(exist_ok=True)
        new.write_bytes(_digests(of, made) + made)
        new.replace(place)


def _place(file: Path) -> Path:
    return file.parent / FOLDER / f"{file.name}.{sys.implementation.cache_tag}.kept"


def _digests(of: str, made: bytes) -> bytes:
    """Of what it was made of, and of itself."""
    return sha256(f"{sys.version}\n{of}".encode()).digest() + sha256(made).digest()
