"""A second language is a folder of words: nothing in the code knows the first one."""

from datetime import date
from pathlib import Path

import pytest

from bot.flows.parsing import (
    Reask,
    read_clock,
    read_day,
    read_length,
    read_mass,
    read_stature,
)
from bot.flows.typed_words import TypedWords
from bot.reference.spoken import load_answers, load_numbers, load_typed_words
from core.number_words import numbers_in
from core.red_flags.spoken_numbers import spoken_numbers

NUMBERS = """
under_hundred: {eins: 1, zwei: 2, sieben: 7, acht: 8, zwanzig: 20, achtzig: 80}
hundred: [hundert]
joining: [und]
and_a_half: [und, ein, halb]
over: [zu]
out_of: [von]
often_no_number: [eins]
nothing: [keine]
one_before_hundred: [ein]
zero_digits: ["null"]
point: [komma]
misheard: {}
"""
TYPED = """
clock:
  before: [um, gegen]
  passed_over: [uhr]
  morning: [am morgen, fruh]
  am: [vorm]
  pm: [nachm]
  before_hour: {halb: -30, viertel nach: 15, viertel vor: -15}
  after_hour: {zwanzig: 20}
months: [januar, februar, marz, april, mai, juni, juli, august, september, oktober,
  november, dezember]
beside_dates: [der, im, am]
ordinals: ["."]
listing: [und]
units:
  feet: [fuss]
  stone: [stein]
  kilos_part: [kg, kilo]
  pounds_part: [pfund]
  inches_whole: [zoll]
  inches_part: ['"']
"""
ANSWERS = """
sign_now:
  now: [ja, jetzt]
  "no": [nein]
"""
TODAY = date(2026, 5, 20)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """German, a little of it."""
    (tmp_path / "words").mkdir()
    for name, text in (("numbers", NUMBERS), ("typed", TYPED), ("answers", ANSWERS)):
        (tmp_path / "words" / f"{name}.yaml").write_text(text, encoding="utf-8")
    return tmp_path


@pytest.fixture
def words(folder: Path) -> TypedWords:
    return load_typed_words(folder)


@pytest.mark.parametrize(
    ("text", "values"),
    [
        ("sieben und ein halb", [7.5]),
        ("hundert und zwanzig zu achtzig", [120, 80]),
        ("7 von 8", [7, 8]),
        ("keine", [0]),
        ("seven", []),
    ],
)
def test_numbers_are_read_in_its_words(folder: Path, text: str, values: list[float]):
    assert [one.value for one in numbers_in(text, load_numbers(folder))] == values


def test_numbers_are_found_in_its_sentences(folder: Path):
    said = "zucker ein hundert und zwanzig, gestern sieben komma acht; eins null zwei"
    found = spoken_numbers(said, load_numbers(folder))
    assert [one.value for one in found] == [120, 7.8, 102]
    assert said[found[1].start : found[1].end] == "sieben komma acht"


@pytest.mark.parametrize(
    ("text", "clock"),
    [("um halb acht", "07:30"), ("gegen 8 Uhr", "08:00"), ("sieben zwanzig", "07:20")],
)
def test_a_time_is_read_in_its_words(words: TypedWords, text: str, clock: str):
    assert read_clock(text, "04:00", "20:00", words) == clock


def test_english_is_not_read_beside_it(words: TypedWords):
    assert isinstance(read_clock("half past seven", "04:00", "20:00", words), Reask)


def test_a_date_is_read_in_its_words(words: TypedWords):
    assert read_day("5. März 2024", TODAY, words) == "2024-03-05"
    assert read_day("5. Oktober 2024", TODAY, words) == "2024-10-05"


def test_sizes_are_read_in_its_units(words: TypedWords):
    assert read_stature("5 Fuss 8", words) == pytest.approx(172.7)
    assert read_mass("150 Pfund", "metric", words) == pytest.approx(68.0, abs=0.05)
    assert read_length("18 Zoll", 25, 75, words) == pytest.approx(45.7)


def test_a_button_is_typed_in_its_words(folder: Path):
    assert load_answers(folder)["sign_now"] == {"ja": "now", "jetzt": "now", "nein": "no"}
