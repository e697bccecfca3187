"""What the shipped YAML files hold, kept beside them in a form that loads at once.

To parse them takes a tenth of a start. As Python does with its modules, what was parsed once is
kept in ``__pycache__`` beside the file, in Python's own form for plain values; where nothing can be
written there, the file is parsed each time. What is kept counts only for the very text that it was
made of, whole, and for the same Python and library: it cannot be out of date.
"""

import marshal
import os
import sys
import threading
from contextlib import suppress
from hashlib import sha256
from pathlib import Path
from typing import Any

import yaml

SHIPPED = Path(__file__).parents[2]
"""Below it lie the shipped files; nothing is kept beside those of a practice."""

FOLDER = "__pycache__"
_MADE_BY = f"{sys.version} {marshal.version} yaml {yaml.__version__}\n".encode()
_DIGEST = sha256().digest_size


def parsed(path: Path) -> Any:
    """What a YAML file holds; each caller gets values of its own.

    Raises:
        OSError: it cannot be read.
        UnicodeDecodeError: it is no UTF-8.
        yaml.YAMLError: it is no YAML.
    """
    return parsed_text(path, path.read_text(encoding="utf-8"))


def parsed_text(path: Path, text: str) -> Any:
    """What ``text`` holds, which was read from ``path`` before.

    Raises:
        yaml.YAMLError: it is no YAML.
    """
    if not path.is_relative_to(SHIPPED):
        return yaml.load(text, Loader=yaml.CSafeLoader)
    made_of = sha256(_MADE_BY + text.encode()).digest()
    kept = path.parent / FOLDER / f"{path.name}.{sys.implementation.cache_tag}.parsed"
    # Damaged or cut short, it is made again.
    with suppress(OSError, EOFError, ValueError, TypeError):
        found = kept.read_bytes()
        values = found[2 * _DIGEST :]
        if found[: 2 * _DIGEST] == made_of + sha256(values).digest():
            return marshal.loads(values)  # noqa: S302 - whoever can write there can write modules
    value = yaml.load(text, Loader=yaml.CSafeLoader)
    if not sys.dont_write_bytecode:
        _keep(kept, made_of, value)
    return value


def _keep(kept: Path, made_of: bytes, value: object) -> None:
    """Write it whole or not at all; what cannot be kept is left."""
    # A date, for one, is no plain value.
    with suppress(OSError, ValueError):
        values = marshal.dumps(value)
        kept.parent.mkdir(exist_ok=True)
        new = kept.with_name(f"{kept.name}.{os.getpid()}-{threading.get_ident()}")
        new.write_bytes(made_of + sha256(values).digest() + values)
        new.replace(kept)
