"""What training itself feels like, and the news of an ordinary week, against the real thing.

Common practice: muscles ache for a day or two where they worked; an ache with breathlessness,
sweat, or pain in jaw or left arm is not taken for one.
"""

import pytest

from core.vocabulary import Sign, TextLevel

LOUD = {TextLevel.EMERGENCY, TextLevel.URGENT}

WORKED_CHEST = [
    "chest is sore from the wall push ups",
    "chest aches from all those wall presses",
    "front of my chest is tender after yesterday's push ups",
    "my chest hurts from the band rows",
    "Chest a bit stiff after Tuesday's press ups",
]

SORE_MUSCLES = [
    "chest muscles sore from the push-ups",
    "my pecs ache after Tuesday's wall presses",
    "the muscles across the front are tender when I poke them since the press ups",
]

NOT_FROM_TRAINING = [
    "chest is sore from the push ups and I feel clammy",
    "my chest aches after the wall presses and so does my jaw",
    "chest hurts since the push ups and I can't get my breath",
    "chest pain came on during the wall push ups",
    "my chest aches and I'm dizzy after the press ups",
]

NO_FALL = [
    "nearly went over on the wobble board, caught the sink",
    "almost lost my balance on the wobble cushion",
    "did my bridges and stretches on the floor",
    "walked down the stairs one foot at a time",
    "the dressing came off in the shower",
    "both feet on the ground through the whole set",
    "two loo trips last night",
]

STILL_A_FALL = [
    "went over on the wobble board and hit my hip",
    "I'm on the floor and can't get up",
    "slipped and went down the stairs",
    "fell off the wobble board",
]

NEWS_OF_THE_WEEK = [
    "new blood pressure tablet from the chemist, I take it at night now",
    "started the eye drops on Friday",
    "had a new hearing aid fitted, birds everywhere",
    "BP 134 over 78, pulse 66",
    "two puffs of the brown inhaler every morning",
    "my heart failure nurse is pleased with me",
    "texting to say I went up a kilo",
    "ignore my last message, it was for my brother",
    "the left is the weaker side, always has been",
]


@pytest.mark.parametrize("text", WORKED_CHEST)
def test_a_chest_that_aches_from_its_work_is_at_most_asked_about(reader, whole_reader, text):
    assert reader.read(text).level not in LOUD
    assert whole_reader.read(text).level not in LOUD


@pytest.mark.parametrize("text", SORE_MUSCLES)
def test_chest_muscles_named_with_what_they_did_are_no_sign(reader, text):
    assert reader.read(text).level is TextLevel.NONE


@pytest.mark.parametrize(
    "text",
    [
        "the pain is deep in my chest, not the chest muscles sore from the push ups",
        "sore pecs from the wall presses but my chest hurts deep behind the bone",
    ],
)
def test_sore_muscles_excuse_no_other_pain_in_the_chest(reader, text):
    assert Sign.CHEST_PAIN in reader.read(text).signs


@pytest.mark.parametrize("text", ["chest sore", "my chest is sore this morning"])
def test_a_sore_chest_without_its_cause_is_one(reader, text):
    assert Sign.CHEST_PAIN in reader.read(text).signs


@pytest.mark.parametrize("text", NOT_FROM_TRAINING)
def test_exercise_explains_no_chest_with_an_alarming_sign_beside_it(reader, text):
    reading = reader.read(text)

    assert reading.level is TextLevel.EMERGENCY
    assert Sign.CHEST_PAIN in reading.signs


@pytest.mark.parametrize("text", NO_FALL)
def test_a_wobble_and_floor_work_are_no_fall(reader, text):
    assert reader.read(text).level not in LOUD


@pytest.mark.parametrize("text", STILL_A_FALL)
def test_a_fall_is_still_one(reader, text):
    reading = reader.read(text)

    assert reading.level in LOUD
    assert Sign.FALL in reading.signs


@pytest.mark.parametrize("text", NEWS_OF_THE_WEEK)
def test_news_of_medicines_and_devices_is_nothing_to_the_lexicon(reader, text):
    assert reader.read(text).level is TextLevel.NONE


@pytest.mark.parametrize(
    "text", ["I fitted again this morning", "my brother says I was fitting on the sofa"]
)
def test_a_fit_is_not_a_thing_that_was_fitted(reader, text):
    assert Sign.FAINT in reader.read(text).signs
