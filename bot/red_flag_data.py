"""Loads the red-flag data files and builds the reader; nothing happens on import."""

import json
from importlib.resources import files
from importlib.resources.abc import Traversable

import numpy as np
import yaml

from core.red_flags.lexicon import Lexicon, parse_lexicon
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
    common = json.loads((folder / "common_words.json").read_text(encoding="utf-8"))
    words = [word for line in common["words"] for word in line.split()]
    return parse_lexicon(parts, words, load_signs())


def load_reader() -> Reader:
    """A reader with its second opinion; takes about a second, so the composition root keeps it."""
    return Reader(load_signs(), load_lexicon(), load_second_opinion())


def load_second_opinion() -> SecondOpinion | None:
    """The trained second opinion, or None when its weights are not installed."""
    file = _folder() / "second_opinion.npz"
    if not file.is_file():
        return None
    with file.open("rb") as stream, np.load(stream) as arrays:
        return Encoder(parse_weights({name: arrays[name] for name in arrays.files}))


def _folder() -> Traversable:
    return files("core.red_flags")


def _yaml(file: Traversable) -> dict[str, object]:
    loaded = yaml.load(file.read_text(encoding="utf-8"), Loader=yaml.CSafeLoader)
    if not isinstance(loaded, dict):
        raise TypeError(f"{file.name} must hold a mapping")
    return loaded
