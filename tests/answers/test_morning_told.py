"""What sentences tell of the morning that nobody asked for. All texts are invented."""

import pytest

from core.answers.morning import morning_told
from tests.answers.score import words_of_sets


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("I slept badly and my knee aches", {"sleep": 2}),
        ("Slept like a log, but I'm a bit worried about my sister", {"sleep": 5, "stress": 3}),
        ("my muscles are very sore today and I am worn out", {"soreness": 1, "tiredness": 1}),
        ("good night", {}),
        ("My husband slept badly", {}),
        ("I usually sleep very well", {}),
        ("How did you sleep?", {}),
        ("I am tired of these questions", {}),
        ("I slept badly yesterday", {}),
        ("Thank you, that was a good session", {}),
    ],
)
def test_what_is_told_of_oneself_today_is_heard_and_nothing_else(text, told):
    assert morning_told(text, words_of_sets()) == told
