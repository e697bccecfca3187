"""Readers built once: the lexicon alone, and the whole."""

from collections.abc import Collection, Iterator, Mapping

import pytest

from bot.reference.red_flags import load_lexicon, load_reader, load_signs
from core.readiness.told_numbers import bands_of
from core.red_flags import reader as reading
from core.red_flags.lexicon import Lexicon
from core.red_flags.reader import Reader
from core.red_flags.spelling import Speller


@pytest.fixture(scope="session")
def lexicon() -> Lexicon:
    return load_lexicon()


@pytest.fixture(scope="session", autouse=True)
def one_spelling_table(lexicon: Lexicon) -> Iterator[None]:
    """Readers of the same words share their spelling table, which takes half a second to build."""
    known = (lexicon.repairable(), lexicon.common, lexicon.weights())
    table = Speller(*known)

    def speller(
        vocabulary: Collection[str], common: Collection[str], weights: Mapping[str, int]
    ) -> Speller:
        given = (vocabulary, common, weights)
        return table if given == known else Speller(*given)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(reading, "Speller", speller)
        yield


@pytest.fixture(scope="session")
def reader(lexicon) -> Reader:
    """The lexicon and its scope rules, without a second opinion."""
    return Reader(load_signs(), lexicon, judge=bands_of)


@pytest.fixture(scope="session")
def whole_reader() -> Reader:
    return load_reader()
