"""No text makes the reader's work grow out of hand: counted in phrase tries, not in seconds."""

import string

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from core.red_flags import matching
from core.red_flags.tokens import MAX_CHARS, tokenise
from core.vocabulary import TextLevel

WORDS = ["chest", "pain", "no", "not", "and", "my", "dizzy", "but", "if", "fell", "cehst", ",",
         ".", "mum", "heart", "racing", "?", "😵‍💫", "in", "2014", "again",
         "over", "the", "edge"]  # fmt: skip
MOST_TRIES_A_TOKEN = 400


def tries_of(reader, text, monkeypatch) -> int:
    """How often a phrase is tried against ``text``."""
    count = 0
    whole = matching._phrase_end

    def counted(*args):
        nonlocal count
        count += 1
        return whole(*args)

    monkeypatch.setattr(matching, "_phrase_end", counted)
    reader.read(text)
    monkeypatch.undo()
    return count


@pytest.mark.parametrize(
    "text",
    [
        "chest pain " * 400,
        "no chest pain and dizzy " * 170,
        "i had a pain in my " * 220,
        "over the edge and back in the " * 140,
        "cehst piang dizzzy hrat " * 170,
        "a " * 2000,
        "chestpain" * 450,
        "😵‍💫" * 1300,
        "?" * 4000,
        "'" * 4000,
        "gone " * 800,
    ],
)
def test_repetition_costs_no_more_than_its_length(reader, text, monkeypatch):
    tokens = len(tokenise(text, {}))

    assert tries_of(reader, text, monkeypatch) <= MOST_TRIES_A_TOKEN * (tokens + 1)


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(st.sampled_from(WORDS), max_size=900).map(" ".join))
def test_any_shuffle_of_telling_words_is_read(reader, text):
    assert reader.read(text[:MAX_CHARS]).level in TextLevel


@settings(max_examples=50, deadline=None)
@given(st.text(max_size=MAX_CHARS) | st.text(string.ascii_letters + " '.,", max_size=MAX_CHARS))
def test_any_text_at_all_is_read(reader, text):
    reading = reader.read(text)

    assert reading.level in TextLevel
    assert reading.span in text


def test_a_sign_at_the_very_end_of_a_full_message_is_read(reader):
    sign = " I have crushing chest pain"
    # The longest text of a message: Bot API, sendMessage.
    full = ("lovely day. " * 400)[: 4096 - len(sign)] + sign

    assert reader.read(full).level is TextLevel.EMERGENCY
    assert reader.skim(full).level is TextLevel.EMERGENCY


def test_what_stands_beyond_the_limit_is_not_read(reader):
    late = "lovely day. " * 400 + "chest pain"

    assert len(late) > MAX_CHARS
    assert reader.read(late).level is TextLevel.NONE
