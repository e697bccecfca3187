"""What typed words mean as an answer to "Is this happening now?"; the phrases are our own."""

import pytest

from bot.flows.safety.answers import (
    Answer,
    answer_to_question,
    asks_for_training,
    call_answer,
    is_address,
    is_happening_after_all,
    relief_failed,
    speaks_of_the_body,
)
from tests.support.facts import reference

WORDS = reference().safety_answers

NOW = """yes|Yes!|yeh|a bit|it comes and goes|👍|👍🏽|yeah it is|yes but it was worse on Tuesday
on and off|yes since Tuesday|no no it's worse|no, it's still there|no it hasn't gone
no, since Tuesday|no but it is getting worse|nope still the same|it started yesterday
it began this morning|Tuesday and again today|since yesterday|maybe|I don't know
I think so|a little bit still|haha no it's worse|lol still here|fine until it comes back
not better|no better|help|no please help me|I am fine but it keeps coming
just the tea but it still hurts|yesterday and still|no, it came on again|not gone
it won't stop|it is back|it's back again|my heart is going now|it hurts now|yes Tuesday
I just feel scared|no no please|only when I started|every few minutes|not going away
Tuesday was bad too|better than yesterday|like yesterday|same as Monday|worse than last week
Sunday and all week"""

EARLIER = """Earlier|earlier, not now|no, Tuesday|Tuesday|it was yesterday|last night
no it was this morning|two days ago|it has gone|not now|gone now|No, last week
it was an hour ago|on Sunday|no, it was earlier"""

NO = """no|Nope|No, I am fine|haha the dog|I only went for my tea|I just went to the door
lol it was the cat|no thanks|false alarm|ha ha it's the kettle|I was only watching telly
only joking"""

FINE = """I am fine|I'm fine|ok|Im ok now|all good|it's nothing"""

OTHER = """Not me, the neighbour|not me, the neighbor|not me my husband|it's my wife|no, my mum
it is the neighbour|not me but somebody|no it's my husband"""

UNCLEAR = """the roses are nice this year|7|skip|no no|no no no|hm|?|!!|why|what do you mean|the dog
haha|who knows|I sat down|I just sat down for tea and felt faint|haha the dog bit my leg
no, not really|the neighbour is fine|not me|it doesn't hurt now|I went out|thanks
Tuesday is my birthday|no pain no gain|hello
no, wasn't this bad on Tuesday|pain this morning|an hour ago|I just dropped the kettle on me
it was the dog, down I went|I only slipped getting the post|half an hour ago tea
no, I'm on my own|it was not on Tuesday|haha maybe the dog|just my heart dog"""


def lines(text: str) -> list[str]:
    return [one.strip() for one in text.replace("\n", "|").split("|") if one.strip()]


@pytest.mark.parametrize(
    ("texts", "wanted"),
    [
        (NOW, Answer.NOW),
        (EARLIER, Answer.EARLIER),
        (NO, Answer.NO),
        (FINE, Answer.FINE),
        (OTHER, Answer.OTHER),
        (UNCLEAR, Answer.UNCLEAR),
    ],
    ids=["now", "earlier", "no", "fine", "other", "unclear"],
)
def test_typed_answers(texts: str, wanted: Answer):
    read = {text: answer_to_question(text, WORDS) for text in lines(texts)}
    assert {text: got.value for text, got in read.items() if got is not wanted} == {}


CALMING = frozenset({Answer.NO, Answer.EARLIER, Answer.FINE})


@pytest.mark.parametrize(
    "told", ["worse", "still there", "not gone", "since Tuesday", "keeps going"]
)
@pytest.mark.parametrize("calm", [*lines(EARLIER), *lines(NO), *lines(FINE)])
def test_no_calm_answer_stays_one_with_a_word_that_it_goes_on(calm: str, told: str):
    for text in (
        f"{calm} {told}",
        f"{told}, {calm}",
        f"{calm}... {told}!!",
        f"{calm} but it's {told}",
    ):
        assert answer_to_question(text, WORDS) not in CALMING, text


@pytest.mark.parametrize(
    "text", ["1 Kauri Street, Thames", "flat 2, 14 High St", "27b Mill Road", "14/3 Bay View Drive"]
)
def test_an_address_is_where_help_is_to_go(text: str):
    assert answer_to_question(text, WORDS) is Answer.ADDRESS


@pytest.mark.parametrize(
    "text", ["3 times on the street", "2 tablets on the way", "street", "7", "my leg 3 road"]
)
def test_a_number_and_a_street_are_no_address_by_themselves(text: str):
    assert not is_address(text, WORDS)


@pytest.mark.parametrize(
    "text",
    [
        "I can't call",
        "I cant phone",
        "cannot ring anyone",
        "no I can't call",
        "I am unable to call",
    ],
)
def test_who_cannot_call(text: str):
    assert call_answer(text, WORDS) == "cannot"
    assert answer_to_question(text, WORDS) is Answer.CANNOT


def test_having_called():
    assert call_answer("Yes, I have called", WORDS) == "called"
    assert call_answer("the roses are nice", WORDS) == ""


def test_a_changed_mind_says_so_outright():
    assert is_happening_after_all("Yes, now", WORDS)
    assert is_happening_after_all("It's back", WORDS)
    assert not is_happening_after_all("yes", WORDS)
    assert not is_happening_after_all("yes I will call him", WORDS)


@pytest.mark.parametrize(
    "text",
    ["took my spray and it hasn't shifted", "two puffs, no better", "the tablet did not help"],
)
def test_relief_that_failed(text: str):
    assert relief_failed(text, WORDS)


def test_the_days_movements_are_asked_for():
    assert asks_for_training("give me today's exercises", WORDS)
    assert asks_for_training("can I start my session please", WORDS)
    assert not asks_for_training("my chest hurt in the session, what now", WORDS)
    assert not asks_for_training("it started when I did my exercises", WORDS)


def test_words_of_the_body():
    assert speaks_of_the_body("my tablets make me feel odd", WORDS)
    assert speaks_of_the_body("Knee?", WORDS)
    assert not speaks_of_the_body("blue bananas", WORDS)
