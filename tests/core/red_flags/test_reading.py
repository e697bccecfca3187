"""What a reading holds: level, signs, the words that decided, the reason, what silence means."""

import pytest

from core.red_flags.reader import read_lines
from core.red_flags.reading import TextReasonCode
from core.vocabulary import Sign, TextLevel

ASSERTED = [
    ("I have a pain in my chest", TextLevel.EMERGENCY, Sign.CHEST_PAIN),
    ("I fainted this morning", TextLevel.EMERGENCY, Sign.FAINT),
    ("my speech is slurred", TextLevel.EMERGENCY, Sign.STROKE),
    ("coughing up blood", TextLevel.EMERGENCY, Sign.COUGHING_BLOOD),
    ("can't breathe", TextLevel.EMERGENCY, Sign.BREATHLESS_REST),
    ("numb between my legs since my back went", TextLevel.EMERGENCY, Sign.CAUDA_EQUINA),
    ("gone blind in one eye", TextLevel.EMERGENCY, Sign.VISION_LOSS),
    ("inhaler not working, asthma bad", TextLevel.EMERGENCY, Sign.ASTHMA_SEVERE),
    ("worst headache of my life, came on suddenly", TextLevel.EMERGENCY, Sign.THUNDERCLAP_HEADACHE),
    ("so dizzy today", TextLevel.URGENT, Sign.DIZZINESS),
    ("having palpitations", TextLevel.URGENT, Sign.PALPITATIONS),
    ("my calf is swollen and hot", TextLevel.URGENT, Sign.CALF_CLOT),
    ("knee is red hot and swollen", TextLevel.URGENT, Sign.HOT_JOINT),
    ("sugar low, feeling shaky", TextLevel.URGENT, Sign.HYPO),
    ("tripped and had a fall", TextLevel.URGENT, Sign.FALL),
    ("ankles swollen right up", TextLevel.URGENT, Sign.ANKLE_SWELLING),
    ("my new hip wound is leaking pus", TextLevel.URGENT, Sign.JOINT_REPLACEMENT),
    ("my husband hit me last night", TextLevel.URGENT, Sign.ABUSE),
    ("puffed on the stairs lately, not like me", TextLevel.URGENT, Sign.BREATHLESS_EFFORT),
]


@pytest.mark.parametrize(("text", "level", "sign"), ASSERTED)
def test_what_the_writer_asserts_has_its_level_and_sign(reader, text, level, sign):
    reading = reader.read(text)

    assert reading.level is level
    assert sign in reading.signs
    assert reading.if_unanswered is level
    assert not reading.for_other


def test_the_words_that_decided_are_given_as_written(reader):
    assert reader.read("Hello. I have a PAIN in my Chest, coach").span == "PAIN in my Chest"


def test_chest_pain_that_has_gone_is_urgent_under_its_own_sign(reader):
    reading = reader.read("had chest pain after the bands but its gone now")

    assert reading.level is TextLevel.URGENT
    assert reading.signs[0] is Sign.CHEST_DISCOMFORT_GONE
    assert reading.because.code is TextReasonCode.OVER_BY_NOW


def test_low_sugar_with_muddle_is_an_emergency(reader):
    assert reader.read("sugar is low and I'm all muddled").level is TextLevel.EMERGENCY


def test_a_fall_that_leaves_one_on_the_floor_is_an_emergency(reader):
    assert reader.read("I fell and can't get up").level is TextLevel.EMERGENCY


def test_a_relative_in_danger_now_is_an_emergency_for_another(reader):
    reading = reader.read("my husband has collapsed, what do I do")

    assert reading.level is TextLevel.EMERGENCY
    assert reading.for_other
    assert reading.because.code is TextReasonCode.OTHER_IN_DANGER


@pytest.mark.parametrize(
    "text", ["I want to die", "I don't want to be here any more", "thinking of suicide"]
)
def test_thoughts_of_suicide_act_at_once(reader, text):
    reading = reader.read(text)

    assert reading.level is TextLevel.EMERGENCY
    assert reading.signs == (Sign.SELF_HARM,)


def test_a_fever_reads_as_none_with_its_sign(reader):
    reading = reader.read("I have a fever of 38.5")

    assert reading.level is TextLevel.NONE
    assert reading.signs == (Sign.FEVER,)
    assert reading.because.code is TextReasonCode.MENTIONED


def test_a_question_says_what_silence_becomes(reader):
    reading = reader.read("angina")

    assert reading.level is TextLevel.ASK
    assert reading.if_unanswered is TextLevel.EMERGENCY


@pytest.mark.parametrize("text", ["", " ", "...", "👍", "ok thanks", "12345"])
def test_texts_that_say_nothing_are_none(reader, text):
    reading = reader.read(text)

    assert reading.level is TextLevel.NONE
    assert reading.signs == ()


def test_rows_hold_exactly_the_agreed_fields_in_order(reader):
    rows = list(read_lines(reader, ["chest pain\n", "lovely day\r\n"]))

    assert [list(row) for row in rows] == 2 * [
        ["text", "level", "signs", "because", "if_unanswered"]
    ]
    assert rows[0]["text"] == "chest pain"
    assert rows[0]["level"] == "emergency"
    assert rows[0]["signs"] == ["chest_pain"]
    assert rows[1]["level"] == "none"
    assert rows[1]["if_unanswered"] == "none"


@pytest.mark.parametrize(
    ("text", "sign"),
    [
        ("my husband has chest pain right now", Sign.CHEST_PAIN),
        ("my wife can't breathe right now", Sign.BREATHLESS_REST),
    ],
)
def test_somebody_in_danger_beside_the_writer_is_not_taken_for_a_threat(reader, text, sign):
    reading = reader.read(text)

    assert reading.level is TextLevel.EMERGENCY
    assert reading.for_other
    assert reading.signs == (sign,)


@pytest.mark.parametrize(
    "text", ["my husband is hitting me right now", "my son hit me and hes outside"]
)
def test_violence_that_goes_on_is_an_emergency_at_home(reader, text):
    reading = reader.read(text)

    assert reading.level is TextLevel.EMERGENCY
    assert Sign.ABUSE in reading.signs
