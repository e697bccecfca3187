"""Counts as three writers typed them who had not seen the reader: both numbers in one line."""

import pytest

from core.answers.counts import read_left, read_reps
from core.answers.sets import read_set
from tests.answers.score import PLANNED, words_of_sets
from tests.lives.typed_week import PEOPLE, lines_of

UNREAD_AT_MOST, UNTOLD = 3, {"6", "10 same"}


@pytest.mark.parametrize(
    ("text", "done", "left", "sure"),
    [
        ("10. 2 more", 10, 2, True),
        ("I managed eight, and I think perhaps three more if I'd had to", 8, 3, True),
        ("i done ten could of done four more", 10, 4, True),
        ("six that was a pig one more", 6, 1, True),
        ("seven hang on no eight it was eight one more", 8, 1, False),
        ("7 nothing left", 7, 0, True),
        ("8, cpl more", 8, 2, True),
        ("did 10 3 left", 10, 3, True),
        ("all of them, three more", 10, 3, True),
        ("twelve six more", 12, 5, True),
        # Nothing names the second number; of a range the fewer count.
        ("12, 4", 12, 4, False),
        ("Ten and four", 10, 4, False),
        ("Eight again, and two or three more I should think", 8, 2, False),
        ("nine and to more in the tank", 9, 2, False),
        ("fourteen and for", 14, 4, False),
        ("Seven, well six and a bit of a wobbly one, nothing left after that", 7, 0, False),
        # No second number.
        ("nine of the ten", 9, None, True),
        ("eleven", 11, None, True),
    ],
)
def test_both_numbers_are_taken_and_doubt_is_said_back(text, done, left, sure):
    told = read_set(text, PLANNED, words_of_sets())

    assert told is not None
    assert (told.done, told.left, told.sure) == (done, left, sure)


@pytest.mark.parametrize("text", ["I could not say", "my knee again", "is it one each leg?", ""])
def test_no_number_is_no_set(text):
    assert read_set(text, PLANNED, words_of_sets()) is None


@pytest.mark.parametrize("who", PEOPLE)
def test_a_week_of_sets_is_read(who):
    told = [read_set(text, PLANNED, words_of_sets()) for text in lines_of(who, "session")]

    assert sum(one is None or one.left is None for one in told) <= UNREAD_AT_MOST + len(UNTOLD)


@pytest.mark.parametrize(
    ("text", "fewer"),
    [
        ("2 or 3", 2),
        ("two or three maybe", 2),
        ("between 2 and 4", 2),
        ("one or two or three, who knows", None),
        ("yesterday it was 2 or 3", None),
    ],
)
def test_of_a_range_the_fewer_counts_and_is_said_back(text, fewer):
    """Ours: fewer done and fewer left both lead to the easier dose."""
    words = words_of_sets()
    for told in (read_left(text, words), read_reps(text, PLANNED, words)):
        assert (told.value if told else None) == fewer
        assert told is None or not told.sure
