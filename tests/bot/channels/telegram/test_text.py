"""Texts are cut where people would pause, and never lose a word."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.channels.telegram.text import length, split


@pytest.mark.parametrize(
    ("text", "most", "parts"),
    [
        pytest.param("Short.", 10, ["Short."], id="what fits stays whole"),
        pytest.param("", 10, [""], id="nothing stays nothing"),
        pytest.param("One two. Three four.", 12, ["One two.", "Three four."], id="at a sentence"),
        pytest.param("One two\n\nA b. C d.", 14, ["One two", "A b. C d."], id="at a paragraph"),
        pytest.param("One\nTwo\nThree", 8, ["One\nTwo", "Three"], id="at a line"),
        pytest.param("one two three", 9, ["one two", "three"], id="at a word"),
        pytest.param("abcdefghij", 4, ["abcd", "efgh", "ij"], id="in a word at worst"),
        pytest.param("😀😀😀", 4, ["😀😀", "😀"], id="an emoji counts as two"),
    ],
)
def test_a_text_is_cut_at_the_best_place(text: str, most: int, parts: list[str]) -> None:
    assert split(text, most, most) == parts


@given(st.text(alphabet=st.sampled_from("ab .!?\n😀é"), max_size=300), st.integers(4, 60))
def test_every_part_fits_and_no_letter_is_lost(text: str, most: int) -> None:
    parts = split(text, most, most)

    assert all(length(part) <= most for part in parts)
    assert "".join("".join(parts).split()) == "".join(text.split())


@given(st.text(max_size=50))
def test_lengths_are_counted_as_telegram_counts_them(text: str) -> None:
    assert length(text) == len(text.encode("utf-16-le", "surrogatepass")) // 2
