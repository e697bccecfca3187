"""Codes as people type them: in a sentence, in small letters, without the hyphen."""

import pytest

from bot.invitation_codes import new_code
from bot.reference.reference import load_all
from core.answers.names import read_code
from core.answers.words import SentenceWords


@pytest.fixture(scope="module")
def words() -> SentenceWords:
    return load_all(lambda _code: "").reference.sentences


@pytest.mark.parametrize(
    "told", ["The code I was given is {}, thanks", "{}", "please, it says {} here", "so: {}!"]
)
def test_any_code_is_found_in_small_letters_with_a_space(told: str, words: SentenceWords) -> None:
    # Ours: one code in ten had no digit, and four letters are taken for a word.
    for _ in range(300):
        code = new_code()
        typed = told.format(code.replace("-", " ").lower())
        assert read_code(typed, words) == code.replace("-", ""), typed
