"""Things are called as in the reader's country; what somebody typed is quoted as it was."""

import pytest

from bot.reference.catalogue import load_movements
from bot.reference.movement_words import Movements
from bot.reference.words import Words


@pytest.mark.parametrize(
    ("country", "said"),
    [
        ("NZ", "Bench push: your puffer by the bench. “My puffer”."),
        ("GB", "Worktop push: your inhaler by the worktop. “My puffer”."),
        ("US", "Counter push: your inhaler by the counter. “My puffer”."),
        ("", "Bench push: your puffer by the bench. “My puffer”."),
    ],
)
def test_a_thing_is_called_as_where_the_reader_lives(country: str, said: str):
    words = Words(Movements(*load_movements()))
    ours = "Bench push: your puffer by the bench. “My puffer”."
    assert words.as_called_in(country, ours) == said
