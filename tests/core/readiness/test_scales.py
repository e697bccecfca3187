"""Typed answers and the reading of numbers in free text."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.reference.spoken import load_numbers
from core.errors import OutOfRangeError
from core.number_words import numbers_in
from core.readiness.scales import (
    CAPACITY_EFFORT,
    GLUCOSE_MG,
    GLUCOSE_MMOL,
    MORNING,
    PAIN,
    PULSE,
    SCALES,
    SESSION_EFFORT,
    WEIGHT_KG,
    EffortRating,
    GoodEnd,
    Pressure,
    ScaleId,
    UnusableAnswer,
    UnusableReason,
    parse_glucose,
    parse_number,
    parse_pressure,
    parse_weight,
)

WORDS = load_numbers()


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("7", 7),
        ("seven", 7),
        ("Seven.", 7),
        ("about 7/10", 7),
        ("7 / 10", 7),
        ("7 out of 10", 7),
        ("seven out of ten", 7),
        ("maybe a 7", 7),
        ("7\N{COMBINING ENCLOSING KEYCAP}", 7),
        ("\N{FULLWIDTH DIGIT SEVEN}", 7),
        ("none", 0),
        ("No pain at all", 0),
        ("zero", 0),
        ("ten", 10),
        ("one", 1),
        ("just one", 1),
        ("7.0", 7),
    ],
)
def test_a_pain_is_read_from_free_text(text, value):
    read = parse_number(text, PAIN, WORDS)
    assert read == value
    assert isinstance(read, int)


@pytest.mark.parametrize(
    ("text", "value"),
    [("7.5", 7.5), ("7,5", 7.5), ("seven and a half", 7.5), ("7½", 7.5), ("7 and a half", 7.5)],
)
def test_a_session_effort_may_have_halves(text, value):
    assert parse_number(text, SESSION_EFFORT, WORDS) == value


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("", UnusableReason.NOT_A_NUMBER),
        ("dunno", UnusableReason.NOT_A_NUMBER),
        ("no idea", UnusableReason.NOT_A_NUMBER),
        ("it was one of those days", UnusableReason.NOT_A_NUMBER),
        ("6-7", UnusableReason.SEVERAL_NUMBERS),
        ("6 to 7", UnusableReason.SEVERAL_NUMBERS),
        ("six or seven", UnusableReason.SEVERAL_NUMBERS),
        ("7 and 8", UnusableReason.SEVERAL_NUMBERS),
        ("7/5", UnusableReason.OTHER_SCALE),
        ("70 out of 100", UnusableReason.OTHER_SCALE),
        ("-3", UnusableReason.TOO_LOW),
        ("11", UnusableReason.TOO_HIGH),
        ("eleven", UnusableReason.TOO_HIGH),
        ("9" * 400, UnusableReason.TOO_HIGH),
        ("7.5", UnusableReason.NOT_WHOLE),
    ],
)
def test_an_unusable_pain_is_asked_again_with_its_reason(text, reason):
    read = parse_number(text, PAIN, WORDS)
    assert isinstance(read, UnusableAnswer)
    assert read.reason is reason


def test_asking_again_names_the_range():
    assert parse_number("11", PAIN, WORDS) == UnusableAnswer(UnusableReason.TOO_HIGH, (0, 10))


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("72", 72),
        ("seventy two", 72),
        ("a hundred and four", 104),
        ("one hundred", 100),
        ("one twenty", 120),
        ("72 beats", 72),
        ("72 beats a minute", 72),
        ("72 per min", 72),
        ("72/min", 72),
    ],
)
def test_a_pulse_is_read_in_figures_or_words(text, value):
    assert parse_number(text, PULSE, WORDS) == value


@pytest.mark.parametrize("scale", [PULSE, WEIGHT_KG, GLUCOSE_MMOL, GLUCOSE_MG])
@pytest.mark.parametrize(
    "text",
    [
        "about 75 minutes",
        "seventy five minutes",
        "75 mins",
        "75 days",
        "75 steps",
        "75-minute walk",
    ],
)
def test_a_time_or_a_way_is_no_number_of_the_body(scale, text):
    assert parse_number(text, scale, WORDS) == UnusableAnswer(UnusableReason.NOT_A_NUMBER)


@pytest.mark.parametrize("text", ["about 25 minutes", "40 minutes"])
@pytest.mark.parametrize("unit", ["mmol/L", "mg/dL"])
def test_a_time_is_no_sugar_in_either_unit(text, unit):
    assert parse_glucose(text, unit, WORDS) == UnusableAnswer(UnusableReason.NOT_A_NUMBER)


@pytest.mark.parametrize("text", ["160lb", "11 stone", "160 pounds"])
def test_a_weight_in_another_unit_is_asked_again(text):
    assert parse_number(text, WEIGHT_KG, WORDS) == UnusableAnswer(UnusableReason.OTHER_UNIT)


def test_a_weight_keeps_a_tenth_of_a_kilo():
    assert parse_number("72.46 kg", WEIGHT_KG, WORDS) == 72.5


@pytest.mark.parametrize(
    ("text", "pair"),
    [
        ("120/80", (120, 80)),
        ("120 over 80", (120, 80)),
        ("120 80", (120, 80)),
        ("one twenty over eighty", (120, 80)),
        ("a hundred and forty two over ninety", (142, 90)),
        ("one hundred and five over sixty", (105, 60)),
        ("142/88, pulse 70", (142, 88)),
    ],
)
def test_a_pressure_is_read(text, pair):
    assert parse_pressure(text, WORDS) == Pressure(*pair)


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("fine", UnusableReason.NOT_A_NUMBER),
        ("142", UnusableReason.TWO_NUMBERS_NEEDED),
        ("142 88 70", UnusableReason.SEVERAL_NUMBERS),
        ("80/120", UnusableReason.WRONG_ORDER),
        ("120/120", UnusableReason.WRONG_ORDER),
        ("400/90", UnusableReason.TOO_HIGH),
        ("120/20", UnusableReason.TOO_LOW),
    ],
)
def test_an_impossible_pressure_is_asked_again(text, reason):
    read = parse_pressure(text, WORDS)
    assert isinstance(read, UnusableAnswer)
    assert read.reason is reason


@pytest.mark.parametrize(
    ("text", "unit", "mmol"),
    [
        ("5.6", "mmol/L", 5.6),
        ("5,6", "mmol/L", 5.6),
        ("120", "mg/dL", 6.661),
        ("36", "mg/dL", 1.998),
    ],
)
def test_a_sugar_is_kept_in_mmol(text, unit, mmol):
    assert parse_glucose(text, unit, WORDS) == pytest.approx(mmol, abs=5e-4)


@pytest.mark.parametrize(
    ("text", "unit"), [("120", "mmol/L"), ("36", "mmol/L"), ("7.2", "mg/dL"), ("30", "mg/dL")]
)
def test_a_sugar_plausible_in_the_other_unit_is_asked_again(text, unit):
    read = parse_glucose(text, unit, WORDS)
    assert isinstance(read, UnusableAnswer)
    assert read.reason is UnusableReason.OTHER_UNIT
    assert read.numbers == (float(text),)


def test_a_confirmed_unit_is_believed_where_the_value_can_be():
    assert parse_glucose("30", "mg/dL", WORDS, confirmed=True) == pytest.approx(1.665, abs=5e-4)
    assert parse_glucose("120", "mmol/L", WORDS, confirmed=True) == UnusableAnswer(
        UnusableReason.TOO_HIGH, (1.0, 35.0)
    )


def test_an_unknown_sugar_unit_is_a_bug():
    with pytest.raises(OutOfRangeError):
        parse_glucose("5", "mmol", WORDS)


@pytest.mark.parametrize(
    ("value", "scale"),
    [(11, ScaleId.SESSION_EFFORT), (-1, ScaleId.SESSION_EFFORT), (5, ScaleId.PAIN)],
)
def test_an_effort_off_its_scale_cannot_be_made(value, scale):
    with pytest.raises(OutOfRangeError):
        EffortRating(value, scale)


def test_the_two_effort_scales_have_different_words_at_five():
    """Foster 2001: 5 is hard. Nelson 2007: 5 to 6 is moderate."""
    assert SESSION_EFFORT.anchors[5] == "hard"
    assert CAPACITY_EFFORT.anchors[5] == "medium"


def test_the_session_scale_has_no_words_where_its_source_has_none():
    """Foster 2001 and later prints: no words at 6, 8 and 9."""
    assert not {6, 8, 9} & set(SESSION_EFFORT.anchors)


def test_the_good_end_is_part_of_the_scale():
    """McLean 2010 counts 5 as good, Hooper 1995 counts 7 as bad: a mix-up must show."""
    assert MORNING.good_end is GoodEnd.HIGH
    assert PAIN.good_end is GoodEnd.LOW
    assert PULSE.good_end is GoodEnd.NEITHER


def test_every_scale_is_registered_under_its_own_id():
    assert set(SCALES) == set(ScaleId)
    assert all(scale.id is name for name, scale in SCALES.items())


@given(st.text(max_size=60), st.sampled_from(list(SCALES.values())))
def test_any_text_gives_a_value_on_the_scale_or_a_reason(text, scale):
    read = parse_number(text, scale, WORDS)
    assert isinstance(read, UnusableAnswer) or scale.low <= read <= scale.high
    parse_pressure(text, WORDS)


@given(st.integers(0, 999))
def test_figures_and_their_words_agree(value):
    assert [found.value for found in numbers_in(str(value), WORDS)] == [value]
    assert [found.value for found in numbers_in(_in_words(value), WORDS)] == [value]


def _in_words(value: int) -> str:
    """English words, British "and", written apart from the reader."""
    small = [
        "zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten",
        "eleven", "twelve", "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen",
        "nineteen",
    ]  # fmt: skip
    tens = ["twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"]
    if value < 20:
        return small[value]
    if value < 100:
        rest = value % 10
        return tens[value // 10 - 2] + (f"-{small[rest]}" if rest else "")
    rest = value % 100
    return f"{small[value // 100]} hundred" + (f" and {_in_words(rest)}" if rest else "")


@pytest.mark.parametrize(
    ("typed", "usual", "confirmed", "read"),
    [
        ("75.2", 75.0, False, 75.2),
        ("165", 75.0, False, UnusableAnswer(UnusableReason.OTHER_UNIT, (165.0,))),
        ("165", 75.0, True, 165.0),
        ("165", None, False, 165.0),
        ("132", 75.0, False, 132.0),
        ("203", 75.0, False, 203.0),
        ("12", 75.0, False, UnusableAnswer(UnusableReason.TOO_LOW, (30.0,))),
    ],
)
def test_a_weight_that_is_pounds_more_likely_than_kilos_is_asked_again(
    typed, usual, confirmed, read
):
    """A pound is 0.45359237 kg by definition; the margin either way is ours."""
    found = parse_weight(typed, usual, WORDS, confirmed=confirmed)
    if isinstance(read, UnusableAnswer):
        assert isinstance(found, UnusableAnswer)
        assert found.reason is read.reason
    else:
        assert found == read
