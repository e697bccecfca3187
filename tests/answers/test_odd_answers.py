"""No answer is too odd to be read: whatever is typed gives an answer or none, and no fault."""

from datetime import date

import pytest

from core.answers.moments import read_date
from tests.answers.score import READERS, Answer, verdict_on, words_of_sets
from tests.support.facts import reference

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


def test_the_29th_of_february_before_it_comes():
    words, text = reference().sentences, "he looked at me on 29 february"

    assert read_date(text, date(2028, 2, 20), words) is None
    later = read_date(text, date(2028, 3, 1), words)
    assert later is not None
    assert later.value == "2028-02-29"
