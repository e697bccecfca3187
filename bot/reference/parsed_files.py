"""Parsing YAML files: the program's own are parsed once, others each time.

To parse the words and movements takes a tenth of a start.
"""

import marshal
from contextlib import suppress
from pathlib import Path
from typing import Any

import yaml

from bot.reference.kept_files import SHIPPED, keep, kept

_BY = f"yaml {yaml.__version__}, marshal {marshal.version}"


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
    of = f"{_BY}\n{text}"
    values = kept(path, of)
    if values is not None:
        return marshal.loads(values)  # noqa: S302 - whoever can write there can write modules
    value = yaml.load(text, Loader=yaml.CSafeLoader)
    # A date, for one, is no plain value, and is parsed each time.
    with suppress(ValueError):
        keep(path, of, marshal.dumps(value))
    return value
