"""What is wrong this morning in words; most lines are of writers who had not seen the reader."""

import pytest

from core.answers.trouble import read_trouble
from tests.answers.score import words_of_sets


@pytest.mark.parametrize(
    ("text", "meant"),
    [
        ("My right knee is giving me a little bit of gyp on the stairs, I'd say a two", "pain"),
        ("my lower back is nagging a bit left side from the digging two or three", "pain"),
        ("l knee a bit, stairs. 2 outa 10", "pain"),
        ("r shoulder niggle when i reach up. small", "pain"),
        ("wrist still there a bit one out of ten hardly notice", "pain"),
        ("I have a bad cough and my hip hurts", "ill_and_pain"),
        ("a bit of a temperature since last night", "ill"),
        ("No, the knee is fine today", "nothing"),
        ("no pain today backs gone. no fit as a fiddle. lets get on with it", "nothing"),
        ("No, no pain, only the stiffness I told you about", "nothing"),
        ("no not pain just sore", "nothing"),
        ("no not ill", "nothing"),
    ],
)
def test_a_pain_or_an_illness_is_heard_and_said_back(text, meant):
    told = read_trouble(text, words_of_sets())

    assert told is not None
    assert told.value == meant
    assert meant == "nothing" or not told.sure


@pytest.mark.parametrize(
    "text",
    [
        "no, only my chest feels odd",
        "no but a bit dizzy",
        "nothing, I fell yesterday",
        "my calf is sore",
        "maybe a bit of pain",
        "the bins were not collected",
    ],
)
def test_words_of_a_sign_or_a_doubt_are_never_taken(text):
    assert read_trouble(text, words_of_sets()) is None


@pytest.mark.parametrize(
    "text", ["no pain but my knee aches", "nothing much, my knee is playing up a bit"]
)
def test_a_pain_behind_a_no_is_heard(text):
    told = read_trouble(text, words_of_sets())

    assert told is not None
    assert told.value == "pain"
