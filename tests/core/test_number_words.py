"""Figures as people type them, and what is no one number."""

import pytest

from bot.reference.spoken import load_typed_words
from core.number_words import numbers_in

WORDS = load_typed_words().numbers


@pytest.mark.parametrize(
    ("text", "values"),
    [
        ("-5", [-5.0]),
        ("\u22125", [-5.0]),
        ("\uff0d5", [-5.0]),
        ("36,6", [36.6]),
        ("36.6.", [36.6]),
        ("120/80", [120.0, 80.0]),
        # Read by some as a thousand, by others as one and a bit: it is asked again.
        ("1.234,5", []),
        ("1,234.5", []),
        ("1.2.3", []),
        ("7, 8", [7.0, 8.0]),
    ],
)
def test_figures(text: str, values: list[float]) -> None:
    assert [one.value for one in numbers_in(text, WORDS)] == values
