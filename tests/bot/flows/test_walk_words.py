"""A walk in a client's own words, and what is none. How people word it is ours to guess."""

import pytest

from bot.flows.walk_words import walk_of
from tests.support.facts import reference


@pytest.mark.parametrize(
    ("text", "minutes", "talked"),
    [
        ("walked 20", 20, False),
        ("I walked to the library and back, forty minutes in all, talking all the way", 40, True),
        (
            "I went for a walk with the dog about half an hour and I could talk the whole time",
            30,
            True,
        ),
    ],
)
def test_a_walk(text: str, minutes: int, talked: bool):
    known = reference()
    told = walk_of(text, known.walks, known.words.numbers)
    assert told is not None
    assert (told.minutes, told.could_talk) == (minutes, talked)


@pytest.mark.parametrize(
    "text", ["walked 20 steps", "walked to 2 shops", "walked 20 and my knee hurt", "walked"]
)
def test_no_walk_in_minutes(text: str):
    known = reference()
    assert walk_of(text, known.walks, known.words.numbers) is None
