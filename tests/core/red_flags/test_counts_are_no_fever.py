"""A number between 38 and 103 that counts something is no temperature; a bare one may be.

Ours: what people count in a session (minutes, times, steps) and what a thermometer shows overlap.
"""

import pytest

from core.red_flags.reader import Reader
from core.vocabulary import Sign


@pytest.mark.parametrize(
    "text",
    [
        "my knee hurts, 38 minutes",
        "39 reps",
        "102 steps",
        "101 steps today, lovely",
        "38 stairs",
        "I did 38 of them",
        "39 times up the stair",
        "40 squats and 39 sit to stands",
    ],
)
def test_what_is_counted_is_no_fever(reader: Reader, text: str):
    assert Sign.FEVER not in reader.read(text).signs


@pytest.mark.parametrize(
    "text",
    [
        "38.5",
        "39",
        "it is 101",
        "I have 39 degrees",
        "39 each time I check",
        "38.5, I did 12 reps",
        "temperature 39, 20 minutes ago",
        "fever, and I walked 38 minutes",
        "39 this morning, 38 minutes later 38.8",
    ],
)
def test_a_temperature_stays_one(reader: Reader, text: str):
    assert Sign.FEVER in reader.read(text).signs
