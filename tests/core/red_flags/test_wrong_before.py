"""Sentences that were read wrongly once: each with what it must be read as.

What each means is common practice (public health bodies; the sources stand beside the lines of
``signs.yaml`` and of ``core/readiness/told_numbers.py``); the sentences are ours.
"""

import pytest

from core.vocabulary import Sign, TextLevel

E, U, ASK, NONE = TextLevel.EMERGENCY, TextLevel.URGENT, TextLevel.ASK, TextLevel.NONE
HEARD = {E, U, ASK}

NAMED = [
    # High sugar is never low.
    ("my sugar is 24 and I am throwing up and very thirsty", {E}, Sign.SUGAR_ILL),
    ("my meter just shows HI", {E}, Sign.SUGAR_HIGH),
    ("ketones 3.4 on the strip", {E}, Sign.KETO_HIGH),
    # What a fever may hide.
    ("39.2 and I don't know what day it is, all confused", {E}, Sign.SEPSIS),
    ("temperature 38.9 and my neck is stiff", {E}, Sign.MENINGITIS),
    ("fever of 39 and my skin has gone blotchy", {E}, Sign.SEPSIS),
    ("fever and shaking chills", {E}, Sign.SEPSIS),
    ("temp 38.6 and I am breathing fast", {E}, Sign.SEPSIS),
    ("chemo last week and now 37.8", {E}, Sign.CHEMO_FEVER),
    ("38.4 and I've a new hip, thermometer says", {E, U}, Sign.JOINT_INFECTED),
    # Nothing was read.
    ("lips and tongue swollen since new tablet", {E}, Sign.PRIL_SWELLING),
    ("I got a shock from my defibrillator", {U}, Sign.ICD_SHOCK),
    ("my foot has gone white and cold", {E}, Sign.COLD_LIMB),
    ("poo was black as your hat", {U}, Sign.GUT_BLEED),
    ("there are dark clots in the toilet bowl", HEARD, Sign.GUT_BLEED),
    ("I have had two readings of 28.5 since lunch", {E}, Sign.SUGAR_HIGH),
    ("took too many of my tablets", {E}, Sign.DOSE_HEART),
    ("muscles aching since they upped the statin, pee like cola", {E}, Sign.RHABDO),
    ("burning hot, not sweating and confused", {E}, Sign.HEAT_STROKE),
    ("same feeling as five years ago, the heart attack", HEARD, Sign.CHEST_PAIN),
    ("not pain, it's a heaviness", HEARD, Sign.CHEST_PAIN),
    ("there's a tight band round my chest and I'm all clammy", {E}, Sign.CHEST_PAIN),
    ("help", {ASK}, Sign.UNSURE),
    ("sos", {ASK}, Sign.UNSURE),
    ("call me an ambulance", {E}, Sign.UNSURE),
    ("I feel awful", {ASK}, Sign.UNSURE),
    ("something isn't right", {ASK}, Sign.UNSURE),
    # Too mild, or by the wrong name.
    ("suddenly lost my balance", {E}, Sign.STROKE),
    ("all of a sudden I keep veering to the left", {E}, Sign.STROKE),
    ("suddenly I see two of everything", {E}, Sign.STROKE),
    ("my arm has gone dead all of a sudden", {E}, Sign.STROKE),
    ("suddenly my words came out jumbled", {E}, Sign.STROKE),
    ("fell and lay on the bathroom floor all night", {E}, Sign.LONG_LIE),
    ("stools black like tar and I feel light headed", {E}, Sign.GUT_BLEED),
    ("severe pain in one testicle since this morning", {E}, Sign.TESTICLE_PAIN),
    ("the lump in my groin is hard and won't go back", {E}, Sign.HERNIA_STUCK),
    ("my belly is pulsating and my back hurts", {E}, Sign.AORTA),
    ("headache at my temple and my jaw is sore when I chew", {U}, Sign.GCA),
    ("vomiting blood like coffee grounds", {E}, Sign.VOMIT_BLOOD),
    ("passing black tarry stuff", {U}, Sign.GUT_BLEED),
    ("pulse is 38", {U}, Sign.SLOW_PULSE),
    ("blood pressure 190/112 with a thumping head", {E}, Sign.HIGH_PRESSURE),
    # Laughing is no denial.
    ("my face is drooping on one side lol", {E}, Sign.STROKE),
    ("haha my chest hurts and my left arm aches", {E}, Sign.CHEST_PAIN),
    ("lol my words won't come out right", {E}, Sign.STROKE),
    ("took my spray and it hasn't shifted", {E}, Sign.CHEST_PAIN),
    # Somebody else, now.
    ("he is not breathing", {E}, Sign.CARDIAC_ARREST),
    ("wife here, he's on the floor, all confused", {E}, Sign.CONFUSION_NEW),
    # Despair.
    ("not much point carrying on is there", {E}, Sign.SELF_HARM),
    ("tell her thanks for everything, goodbye", {E}, Sign.SELF_HARM),
    # Nothing is asked first.
    ("meat stuck in his throat, can't speak, going purple", {E}, Sign.CHOKING),
    ("wasp sting, my throat is closing", {E}, Sign.ANAPHYLAXIS),
    ("alarm by the boiler is screaming and we all have headaches", {E}, Sign.CO_GAS),
    ("he's on morphine and I can hardly rouse him", {E}, Sign.OPIOID_SLEEPY),
    ("I'm on the bathroom floor and can't get up", {E}, Sign.FALL_STUCK),
]


@pytest.mark.parametrize(("text", "levels", "sign"), NAMED)
def test_it_is_heard_as_what_it_is(whole_reader, text, levels, sign):
    reading = whole_reader.read(text)

    assert reading.level in levels
    assert sign in reading.signs


def test_a_wrong_name_is_not_given_beside_the_right_one(whole_reader):
    assert Sign.COUGHING_BLOOD not in whole_reader.read("vomiting blood like coffee grounds").signs
    assert Sign.FAINT not in whole_reader.read("passing black tarry stuff").signs
    assert Sign.HYPO not in whole_reader.read("my sugar is 24 and I am throwing up").signs
    assert Sign.CALF_CLOT not in whole_reader.read("dark clots in the toilet bowl").signs
    pounding = whole_reader.read("blood pressure 190/112 with a thumping head")
    assert Sign.HEAD_INJURY not in pounding.signs


QUIET = """cant talk now im on the bus
cant get the words on the screen bigger
numb bum sitting on this chair
put me out of my misery and give me the easy one ha ha
the stick fell over
I cannot get down to the floor
I only went to have my tea
my knee hurts when I go up the stairs
angina is well controlled
Stop. Call 111 now. it said, and I was only typing about my tea""".splitlines()


@pytest.mark.parametrize("text", QUIET)
def test_ordinary_words_raise_nothing(whole_reader, text):
    assert whole_reader.read(text).level is NONE


@pytest.mark.parametrize("text", ["both calves sore since the heel lifts, 1 out of 10"])
def test_sore_calves_of_training_are_at_most_asked_about(whole_reader, text):
    assert whole_reader.read(text).level in {NONE, ASK}


@pytest.mark.parametrize("gap", ["\u200b", "\u200c", "\u200d", "\u2060", "\ufeff", "\u00ad"])
def test_signs_that_take_no_room_hide_no_word(reader, gap):
    assert reader.read(f"my ch{gap}est hu{gap}rts").level is E


def test_numbers_of_somebody_else_are_answered_for_them(reader):
    reading = reader.read("my wife's sugar is 2.4 and she is muddled")

    assert reading.for_other
    assert reading.level is E


@pytest.mark.parametrize(
    "text",
    [
        "the doctor wants 130/80",
        "aiming to keep my pressure under 180/110",
        "my pressure was 210/120 last year",
        "pulse of 140 back in my running days",
        "if my sugar went to 25 what would I do?",
        "two tablets at 8",
        "I am 84",
        "38 reps",
        "we live at 212",
        "back on 14/9",
    ],
)
def test_aims_past_numbers_and_other_figures_raise_nothing(reader, text):
    assert reader.read(text).level is NONE
