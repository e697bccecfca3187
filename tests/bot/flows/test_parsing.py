"""Typed answers as people write them."""

from datetime import date

import pytest

from bot.flows.parsing import (
    Reask,
    Why,
    plain_words,
    read_clock,
    read_day,
    read_day_ahead,
    read_exact_day,
    read_length,
    read_mass,
    read_phone,
    read_stature,
    read_told_day,
    read_year,
    usable,
)
from bot.flows.typed_words import DateOrder
from bot.reference.spoken import load_typed_words
from core.readiness.scales import UnusableAnswer, UnusableReason

TODAY = date(2026, 5, 20)
WORDS = load_typed_words()


@pytest.mark.parametrize(
    ("text", "clock"),
    [
        ("7", "07:00"), ("7:30", "07:30"), ("7.30", "07:30"), ("0730", "07:30"),
        ("7 am", "07:00"), ("at 8 o'clock", "08:00"), ("half past seven", "07:30"),
        ("quarter to eight", "07:45"), ("seven thirty", "07:30"), ("6.15 a.m.", "06:15"),
        ("2 pm", "14:00"),
    ],
)  # fmt: skip
def test_a_time_is_read(text: str, clock: str):
    assert read_clock(text, "04:00", "20:00", WORDS) == clock


@pytest.mark.parametrize("text", ["soon", "25:00", "3 am", "7:75", "", "7 8"])
def test_what_is_no_time_of_a_morning_is_asked_again(text: str):
    assert isinstance(read_clock(text, "04:00", "20:00", WORDS), Reask)


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("5 March 2024", "2024-03-05"), ("2024-03-05", "2024-03-05"), ("March 2024", "2024-03-31"),
        ("2019", "2019-12-31"), ("2026", "2026-05-20"), ("25/12/2020", "2020-12-25"),
        ("May 2026", "2026-05-20"), ("the 5th of Sept, 2024", "2024-09-05"),
        ("Tuesday 5 Febuary 2024", "2024-02-05"), ("I think about May 2024", "2024-05-31"),
        ("5-MAR-2024", "2024-03-05"),
        # Day and month may be meant either way round: the later day is the careful one.
        ("3/4/2024", "2024-04-03"),
    ],
)  # fmt: skip
def test_an_unclear_date_is_the_latest_day_that_it_can_mean(text: str, day: str):
    assert read_day(text, TODAY, WORDS) == day


@pytest.mark.parametrize(
    "text",
    [
        "last year", "tomorrow", "31 February 2024", "31/2/2024", "5 Foo 2024", "Foo 2024",
        "before May 2024", "5 Marvin 2024", "5 March April 2024", "5 March 12 2024",
        "1 2 3 2024", "13 2024",
    ],
)  # fmt: skip
def test_what_is_no_past_day_is_asked_again(text: str):
    assert read_day(text, TODAY, WORDS) == Reask(Why.NOT_A_DATE, text)


@pytest.mark.parametrize("text", ["2031", "21 May 2026", "5 March 2027", "June 2026"])
def test_a_day_to_come_is_no_answer_about_the_past(text: str):
    assert read_day(text, TODAY, WORDS) == Reask(Why.NOT_YET, text)
    assert read_exact_day("21 May", TODAY, WORDS) == Reask(Why.NOT_YET, "21 May")


@pytest.mark.parametrize("text", ["31 February", "5 Foo", "31/2", "5 Foo 2024", "30 Feb 2024"])
def test_an_exact_day_that_is_none_is_asked_again(text: str):
    assert read_exact_day(text, TODAY, WORDS) == Reask(Why.NOT_A_DATE, text)


# The orders are those of Unicode's CLDR (short dates of en-NZ and en-US; from memory).
@pytest.mark.parametrize(
    ("text", "order", "day"),
    [
        ("4/6", DateOrder.DAY_FIRST, "2026-06-04"),
        ("4.6.2026", DateOrder.DAY_FIRST, "2026-06-04"),
        ("6/4", DateOrder.DAY_FIRST, "2027-04-06"),
        ("6/4/2026", DateOrder.DAY_FIRST, Why.OUT_OF_RANGE),
        ("12/25", DateOrder.DAY_FIRST, "2026-12-25"),
        ("7/6/2026", DateOrder.OPEN, "2026-06-07 2026-07-06"),
        ("7/6/2026", DateOrder.MONTH_FIRST, "2026-07-06 2026-06-07"),
        ("4/6", DateOrder.OPEN, "2026-06-04 2027-04-06"),
        ("4/6/2026", DateOrder.OPEN, "2026-06-04"),
        ("6/6", DateOrder.OPEN, "2026-06-06"),
        ("2026-07-06", DateOrder.OPEN, "2026-07-06"),
        ("6 July", DateOrder.OPEN, "2026-07-06"),
        ("1/2/2030", DateOrder.OPEN, Why.OUT_OF_RANGE),
        ("soon", DateOrder.OPEN, Why.NOT_A_DATE),
    ],
)
def test_of_two_possible_days_none_is_guessed(text: str, order: DateOrder, day: str):
    told = read_day_ahead(text, TODAY, WORDS, order, TODAY.replace(year=2027))
    if isinstance(told, Reask):
        told = told.about if told.why is Why.WHICH_DAY else told.why
    assert told == day


def test_of_two_days_that_are_past_none_is_guessed():
    assert read_told_day("4/3/2026", TODAY, WORDS, DateOrder.DAY_FIRST) == "2026-03-04"
    asked = Reask(Why.WHICH_DAY, "2026-03-04 2026-04-03")
    assert read_told_day("4/3/2026", TODAY, WORDS, DateOrder.OPEN) == asked
    assert read_exact_day("4/3", TODAY, WORDS, DateOrder.OPEN) == asked
    assert read_exact_day("4/3", TODAY, WORDS, DateOrder.DAY_FIRST) == "2026-03-04"
    # 6 May is past and 5 June is not: where the day comes first, the day that is meant is to come.
    late = read_exact_day("5/6", TODAY, WORDS, DateOrder.DAY_FIRST)
    assert late == Reask(Why.NOT_YET, "5/6 2026")
    assert read_exact_day("5/6", TODAY, WORDS, DateOrder.OPEN) == "2026-05-06"


@pytest.mark.parametrize("mark", list("'\u2019\u2018\u201b\u02bc\u02b9\u2032\u00b4`\uff07"))
def test_every_keyboard_s_apostrophe_is_one(mark: str):
    assert plain_words(f"  I CAN{mark}T   call! ") == "i can't call"


@pytest.mark.parametrize(
    ("text", "cm"),
    [("165", 165), ("1.65 m", 165), ("5 ft 5", 165.1), ("5'5", 165.1), ("165,5 cm", 165.5)],
)
def test_heights_are_read_in_the_units_that_people_use(text: str, cm: float):
    assert read_stature(text, WORDS) == pytest.approx(cm)


@pytest.mark.parametrize(
    ("text", "units", "kg"),
    [
        ("70", "metric", 70), ("154", "imperial", 69.9), ("154 lb", "metric", 69.9),
        ("11 st 4", "stone", 71.7), ("11", "stone", 69.9), ("70 kg", "imperial", 70),
    ],
)  # fmt: skip
def test_weights_are_read_in_the_units_that_people_use(text: str, units: str, kg: float):
    assert read_mass(text, units, WORDS) == pytest.approx(kg, abs=0.05)


@pytest.mark.parametrize("text", ["7", "700", "heavy"])
def test_a_weight_that_cannot_be_is_asked_again(text: str):
    assert isinstance(read_mass(text, "metric", WORDS), Reask)


@pytest.mark.parametrize(
    ("text", "number"),
    [
        ("021 555 123", "021555123"), ("+64 21 555 123", "+6421555123"),
        ("+44 (0)7700 900111", "+447700900111"), ("my mobile: 021-555-123", "021555123"),
    ],
)  # fmt: skip
def test_phone_numbers_are_read(text: str, number: str):
    assert read_phone(text) == number


@pytest.mark.parametrize("text", ["111", "none", "12 Hill Road, Napier, 4110 New Zealand"])
def test_what_is_no_phone_number_is_asked_again(text: str):
    assert isinstance(read_phone(text), Reask)


def test_inches_and_years():
    assert read_length('18"', 25, 75, WORDS) == pytest.approx(45.7)
    assert read_year("born in 1948", 1916, 2010) == 1948
    assert isinstance(read_year("48", 1916, 2010), Reask)


@pytest.mark.parametrize("reason", list(UnusableReason))
def test_every_reason_of_core_is_a_reason_to_ask_again(reason: UnusableReason):
    assert usable(UnusableAnswer(reason), "7") == Reask(Why(reason.value), "7")
