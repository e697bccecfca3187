"""No answer is too odd to be read: whatever is typed gives an answer or none, and no fault."""

import pytest

from tests.answers.score import READERS, Answer, verdict_on, words_of_sets

ODD = (
    "7:30",
    "1.2.3",
    "...",
    "",
    "?",
    "2/",
    "½",
    "1,5,7",
    "\U0001f44d",
    "10:99:3",
    "0",
    "-4",
    "a" * 300,
)


@pytest.mark.parametrize("question", READERS)
def test_every_reader_takes_every_text(question: str):
    words = words_of_sets()
    for text in ODD:
        assert verdict_on(Answer(question, text, None), words).answer.text == text
