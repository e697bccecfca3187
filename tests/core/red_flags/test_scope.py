"""Scope of each mention: whose, when, and whether at all.

The cue classes (negation, double negation, experiencer, history, hypothesis) are those of NegEx
(Chapman et al. 2001, J Biomed Inform 34:301-310) and ConText (Harkema et al. 2009, J Biomed Inform
42:839-851); the sentences are ours.
"""

import pytest

from core.red_flags.reader import Reader
from core.red_flags.scope import Status
from core.vocabulary import Sign, TextLevel

LOUD = {TextLevel.EMERGENCY, TextLevel.URGENT}
HEARD = LOUD | {TextLevel.ASK}
LET_GO = {TextLevel.NONE}

NEGATED = [
    "no chest pain today",
    "no chest pain, dizziness or fainting",
    "I never felt dizzy on the stairs",
    "chest pain - no, dizziness - no",
    "did it all without getting dizzy",
    "no longer dizzy since the new tablets",
    "the palpitations were absent all week",
    "haven't had a fall, haven't had palpitations",
    "chakkar nahi aaya aaj",
    "up the hill without so much as a twinge in the chest",
    "not so much as a dizzy spell all week",
]

NOT_REALLY_NEGATED = [
    "the chest pain is not going away",
    "I can't breathe",
    "this dizziness won't go",
    "no idea why but my chest hurts",
    "not dizzy but my calf is hot and swollen",
    "no fever only my chest is tight",
    "I can't say I don't feel dizzy",
    "never dizzy normally but today I am",
    "no cough, just this chest pain",
    "I don't want to be here any more",
]

OF_ANOTHER = [
    "my mum had a stroke when she was 70",
    "a lady in my choir fainted last month",
    "hubby was dizzy, not me",
    "my son is a nurse on the stroke ward",
]

OF_THE_WRITER_AFTER_ALL = [
    "my husband says my face is drooping on one side",
    "my daughter noticed my speech is slurred",
    "mum had palpitations and now I have palpitations",
    "my wife is dizzy and me too",
]

PAST = [
    "I had chest pain in 2014",
    "used to get dizzy years ago",
    "before my stent I had angina every day",
    "as a kid I fainted a lot",
    "had a fall in 2018 but none since",
    "I passed out giving blood when I was nineteen",
    "I coughed up blood in '74, it was TB",
    "had a heart attack the year of the flood, not a peep from it",
    "broke my hip in a fall in '98",
]

NOT_PAST = [
    "I had a fall yesterday",
    "the dizziness is back",
    "I had a heart attack in 2019 and this feels the same",
    "my AF was cured in 2021 but the palpitations have started again",
    "fainted this morning, I used to do that years ago",
    "used to get dizzy years ago and today I am dizzy again",
    "the chest pain is 8 out of 10",
    "passed out in 30 seconds",
    "I fell in 10 minutes of ice and snow",
]

SUPPOSED = [
    "can exercise cause palpitations?",
    "what should I do if I ever get chest pain?",
    "doing the balance work so I don't have a fall",
    "how would I know if I had a blood clot?",
    "reading an article about strokes",
    "say I was to fall in the bath, how would I get out?",
    "my consultant says to watch for ankle swelling with these",
]

ASKED_OF_ONESELF = [
    "Is it normal to have a heavy chest when I'm resting?",
    "why is my heart skipping beats?",
    "should I carry on, my chest hurts?",
    "is it ok to exercise when my knee is red hot and swollen?",
]

FIGURES = [
    "dizzy heights of 5000 steps",
    "fell in love with the kettlebell",
    "nearly had a heart attack when I saw the bill",
    "legs are dead after that",
    "the router went black",
    "heart to heart with my sister",
    "my quads are on fire",
    "collapsed with laughter at the panto",
    "stumbled over my words in the reading",
    "I've been run off my feet all week",
]


@pytest.mark.parametrize("text", NEGATED)
def test_what_is_denied_is_let_go(reader, text):
    assert reader.read(text).level in LET_GO


@pytest.mark.parametrize("text", NOT_REALLY_NEGATED)
def test_what_only_looks_denied_is_heard(reader, text):
    assert reader.read(text).level in HEARD


@pytest.mark.parametrize("text", OF_ANOTHER)
def test_another_persons_history_never_alerts(reader, text):
    assert reader.read(text).level not in LOUD


@pytest.mark.parametrize("text", OF_THE_WRITER_AFTER_ALL)
def test_what_others_say_of_the_writer_alerts(reader, text):
    assert reader.read(text).level in LOUD


@pytest.mark.parametrize("text", PAST)
def test_the_far_past_never_alerts(reader, text):
    assert reader.read(text).level not in LOUD


@pytest.mark.parametrize("text", NOT_PAST)
def test_recent_days_and_returning_signs_are_not_the_past(reader, text):
    assert reader.read(text).level in HEARD


@pytest.mark.parametrize("text", SUPPOSED)
def test_questions_about_nobody_and_the_future_never_alert(reader, text):
    assert reader.read(text).level not in LOUD


@pytest.mark.parametrize("text", ASKED_OF_ONESELF)
def test_a_question_about_oneself_is_a_report(reader, text):
    assert reader.read(text).level in HEARD


@pytest.mark.parametrize("text", FIGURES)
def test_figures_of_speech_never_alert(reader, text):
    assert reader.read(text).level not in LOUD


def test_a_figure_of_speech_covers_only_its_own_words(reader):
    reading = reader.read("fell in love with the bike but now my chest is tight")

    assert reading.level is TextLevel.EMERGENCY


@pytest.mark.parametrize(
    "text", ["chest pain gone down my left arm", "chest pain gone into my jaw"]
)
def test_a_pain_that_moves_on_is_not_over(reader, text):
    reading = reader.read(text)

    assert reading.level is TextLevel.EMERGENCY
    assert Sign.CHEST_PAIN in reading.signs


@pytest.mark.parametrize(
    "text", ["chest pain gone down a lot, nothing now", "had chest pain but it's gone now"]
)
def test_a_pain_that_went_is_over(reader, text):
    assert Sign.CHEST_DISCOMFORT_GONE in reader.read(text).signs


def test_a_likeness_supposes_nothing(reader):
    reading = reader.read("it was as if somebody took a hammer to the back of my head")

    assert Sign.THUNDERCLAP_HEADACHE in reading.signs


def test_a_supposed_faint_is_still_supposed(reader):
    assert reader.read("what happens if somebody faints in class?").level is TextLevel.NONE


@pytest.mark.parametrize(
    ("text", "sign"),
    [
        ("my right hand will not move", Sign.STROKE),
        ("the words will not come this morning", Sign.STROKE),
        ("my left arm will not lift", Sign.STROKE),
    ],
)
def test_will_not_reads_as_wont(reader, text, sign):
    assert sign in reader.read(text).signs


@pytest.mark.parametrize(
    ("text", "sign"),
    [
        ("I get dizzy on the stairs, didn't use to", Sign.DIZZINESS),
        ("puffed on the stairs, never used to be", Sign.BREATHLESS_EFFORT),
        ("never used to get palpitations but I do now", Sign.PALPITATIONS),
    ],
)
def test_what_never_used_to_be_is_now(reader, text, sign):
    assert sign in reader.read(text).signs


def test_what_used_to_be_is_past(reader):
    assert reader.read("I used to get dizzy on the stairs").level is TextLevel.NONE


@pytest.mark.parametrize(
    "text",
    [
        "passed out in my kitchen since 05, training later",
        "chest tight since 06 but i will train",
        "pain in my chest since 06",
        "crushing chest pain since 07 and it is getting worse",
        "wet myself and numb between the legs since 03",
    ],
)
def test_an_hour_is_no_year_long_past(text: str, reader: Reader) -> None:
    assert reader.read(text).level is not TextLevel.NONE
    assert not any(mention.status is Status.PAST for mention in reader.read(text).mentions)
