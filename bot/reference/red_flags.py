"""Loads the red-flag data files and builds the reader; nothing happens on import."""

import json
import zipfile
import zlib
from pathlib import Path
from typing import Any

import numpy as np

from bot.reference.kept_files import SHIPPED
from bot.reference.parsed_files import parsed
from bot.reference.spoken import load_numbers
from core.errors import LexiconError
from core.readiness.told_numbers import bands_of
from core.red_flags.lexicon import Lexicon, parse_lexicon
from core.red_flags.mother_tongues import Tongue, parse_tongues
from core.red_flags.opinion import SecondOpinion
from core.red_flags.reader import Reader
from core.red_flags.second_opinion import Encoder, parse_weights
from core.red_flags.signs import SignTable, parse_signs


def load_signs() -> SignTable:
    """The signs table of ``core/red_flags/signs.yaml``."""
    return parse_signs(_yaml(_folder() / "signs.yaml"))


def load_lexicon() -> Lexicon:
    """All lexicon files of ``core/red_flags/lexicon``, parsed together."""
    folder = _folder() / "lexicon"
    parts = [
        _yaml(file)
        for file in sorted(folder.iterdir(), key=lambda f: f.name)
        if file.name.endswith(".yaml")
    ]
    return parse_lexicon(parts, common_words(), load_signs(), load_numbers())


def common_words() -> list[str]:
    """Common English words, which spelling repair leaves alone."""
    path = _folder() / "lexicon" / "common_words.json"
    listed = json.loads(path.read_text(encoding="utf-8"))
    return [word for line in listed["words"] for word in line.split()]


def load_reader(*, without_second_opinion: bool = False) -> Reader:
    """A reader with its second opinion; takes about a second, so the composition root keeps it.

    Args:
        without_second_opinion: read by the lexicon alone, for measuring; it misses more.

    Raises:
        LexiconError: a data file is missing or wrong.
    """
    opinion = None if without_second_opinion else load_second_opinion()
    return Reader(load_signs(), load_lexicon(), opinion, judge=bands_of, tongues=load_tongues())


def load_tongues() -> tuple[Tongue, ...]:
    """The languages of ``core/red_flags/mother_tongues.yaml``."""
    return parse_tongues(_yaml(_folder() / "mother_tongues.yaml"))


def load_second_opinion() -> SecondOpinion:
    """The trained second opinion.

    Raises:
        LexiconError: its weights are missing or damaged.
    """
    file = _folder() / "second_opinion.npz"
    try:
        with file.open("rb") as stream, np.load(stream) as arrays:
            return Encoder(parse_weights({name: arrays[name] for name in arrays.files}))
    except (OSError, ValueError, KeyError, zipfile.BadZipFile, zlib.error) as error:
        raise LexiconError(f"core/red_flags/second_opinion.npz: {error!r}") from error


def _folder() -> Path:
    return SHIPPED / "core" / "red_flags"


def _yaml(file: Path) -> dict[str, Any]:
    loaded = parsed(file)
    if not isinstance(loaded, dict):
        raise TypeError(f"{file.name} must hold a mapping")
    return loaded
