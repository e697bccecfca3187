"""Spelling repair: toward the lexicon's own words, never from a common English word."""

import pytest

from core.red_flags.spelling import Speller
from core.red_flags.tokens import tokenise
from core.vocabulary import Sign, TextLevel

SLIPS = [
    ("dizy", "dizzy"),
    ("dizzzzy", "dizzy"),
    ("palpatations", "palpitations"),
    ("collasped", "collapsed"),
    ("brethless", "breathless"),
    ("chst", "chest"),
    ("hedache", "headache"),
]

HEARD_DESPITE_SLIPS = [
    ("cheat pain started 20 mins ago", Sign.CHEST_PAIN),
    ("hart racing like mad", Sign.PALPITATIONS),
    ("past out on the bathroom flor", Sign.FAINT),
    ("short ofbreath sitting down", Sign.BREATHLESS_REST),
    ("chestpain since lunch", Sign.CHEST_PAIN),
    ("bllod in my spit when i cough", Sign.COUGHING_BLOOD),
    ("wrist is reddand swollen and burning hot", Sign.HOT_JOINT),
]


@pytest.fixture(scope="module")
def speller(lexicon):
    return Speller(lexicon.repairable(), lexicon.common, lexicon.weights())


@pytest.mark.parametrize(("slip", "meant"), SLIPS)
def test_a_slip_is_mended_toward_the_lexicon(speller, lexicon, slip, meant):
    mended = [token.word for token in speller.repair_all(tokenise(slip, {}))]

    assert len(mended) == 1
    assert set(lexicon.words[meant]) & set(lexicon.words[mended[0]])


@pytest.mark.parametrize(
    ("slip", "meant"),
    [
        ("thnking", "thinking"),
        ("wlak", "walk"),
        ("supermakret", "supermarket"),
    ],
)
def test_of_two_words_as_near_the_likelier_slip_is_mended(speller, slip, meant):
    assert speller.repair(slip) == meant


@pytest.mark.parametrize("word", ["cheat", "house", "chess", "dozy", "test", "calm", "paint"])
def test_a_common_word_is_left_alone(speller, word):
    assert [token.word for token in speller.repair_all(tokenise(word, {}))] == [word]


def test_words_that_only_clear_are_no_target_of_repair(speller, lexicon):
    mendable = lexicon.repairable()

    assert "joke" in lexicon.words
    assert "joke" not in mendable
    assert "chest" in mendable


def test_a_missing_space_is_put_back(speller):
    words = [token.word for token in speller.repair_all(tokenise("nochest pain", {}))]

    assert words == ["no", "chest", "pain"]


def test_a_word_far_from_all_is_left_alone(speller):
    assert speller.repair("xqzkwvj") is None


@pytest.mark.parametrize(("text", "sign"), HEARD_DESPITE_SLIPS)
def test_signs_are_heard_through_slips(reader, text, sign):
    reading = reader.read(text)

    assert reading.level is not TextLevel.NONE
    assert sign in reading.signs


@pytest.mark.parametrize(
    "text", ["don't cheat at cards", "played chess and lost", "the heart of town", "past the shop"]
)
def test_real_words_alone_are_no_sign(reader, text):
    assert reader.read(text).level is TextLevel.NONE
