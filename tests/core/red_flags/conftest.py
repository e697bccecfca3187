"""Readers built once: the lexicon alone, and the whole."""

import pytest

from bot.reference.red_flags import load_lexicon, load_reader, load_signs
from core.readiness.told_numbers import bands_of
from core.red_flags.lexicon import Lexicon
from core.red_flags.reader import Reader


@pytest.fixture(scope="session")
def lexicon() -> Lexicon:
    return load_lexicon()


@pytest.fixture(scope="session")
def reader(lexicon) -> Reader:
    """The lexicon and its scope rules, without a second opinion."""
    return Reader(load_signs(), lexicon, judge=bands_of)


@pytest.fixture(scope="session")
def whole_reader() -> Reader:
    return load_reader()
