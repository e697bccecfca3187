"""Words of the movements: short, plain, complete, and never a held breath."""

import re
import warnings

import pytest

from core.vocabulary import Family
from tests.core.movements.people import catalogue, words

with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    import textstat

SENTENCE = re.compile(r"(?<=[.!?])\s+")
# Reading grade of text for clients; plain-language guidance of health services asks for 6 or less.
HIGHEST_GRADE = 6.0
LONGEST_SENTENCE, LONGEST_CUE, LONGEST_NAME = 15, 12, 8


def texts_of(rung_id: str) -> list[str]:
    said = words().rungs[rung_id]
    return [said.does, *said.cues, *said.slips, said.breathing, said.picture_text]


@pytest.mark.parametrize("family", list(Family))
def test_a_familys_words_read_at_grade_six_or_lower(family: Family) -> None:
    joined = " ".join(t for rung in catalogue().rungs(family) for t in texts_of(rung.id))
    assert textstat.flesch_kincaid_grade(joined) <= HIGHEST_GRADE


@pytest.mark.parametrize("rung_id", sorted(catalogue().by_id))
def test_sentences_and_cues_are_short_and_end_properly(rung_id: str) -> None:
    said = words().rungs[rung_id]
    for text in texts_of(rung_id):
        assert text.endswith((".", "!")), text
        for sentence in SENTENCE.split(text):
            assert len(sentence.split()) <= LONGEST_SENTENCE, sentence
    assert all(len(cue.split()) <= LONGEST_CUE for cue in said.cues)
    assert len(said.name.split()) <= LONGEST_NAME
    assert not said.name.endswith(".")


def test_no_two_rungs_have_the_same_name() -> None:
    names = [said.name for said in words().rungs.values()]
    assert len(names) == len(set(names))


def test_words_exist_for_no_rung_that_is_not_there() -> None:
    assert set(words().rungs) == set(catalogue().by_id)


def test_breathing_is_told_with_every_rung_and_effort_goes_with_breathing_out() -> None:
    for rung in catalogue():
        said = words().rungs[rung.id].breathing.lower()
        assert "breathe" in said
        assert not re.search(r"\bhold (your|the) breath", said)
        if rung.unit == "reps" and rung.measure != "authored":
            assert "out" in said, rung.id


def test_held_positions_say_to_keep_breathing() -> None:
    for rung in catalogue().rungs(Family.BRACE):
        assert "breathe_in_holds" in rung.cautions
        assert "all the time" in words().rungs[rung.id].breathing


@pytest.mark.parametrize("code", sorted(words().cautions))
def test_cautions_are_short_and_used(code: str) -> None:
    for sentence in SENTENCE.split(words().cautions[code]):
        assert len(sentence.split()) <= LONGEST_SENTENCE
    table = catalogue().steering
    of_rows = {code for row in table for code in (*row.warns, *row.instead.values())}
    assert code in of_rows or any(code in rung.cautions for rung in catalogue())
