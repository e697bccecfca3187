"""Every reason of a dose has one short plain sentence."""

from pathlib import Path

import pytest
import textstat
import yaml
from jinja2 import Environment, StrictUndefined

from core.dose.prescription import DoseCode

SENTENCES = yaml.safe_load(Path("templates/en/reasons/dose.yaml").read_text(encoding="utf-8"))
NUMBERS = {"percent": 8.0, "sessions": 1, "minutes": 15, "pain": 4.0}
MOST_WORDS = 15


def said(code, **numbers):
    environment = Environment(undefined=StrictUndefined, autoescape=False)  # noqa: S701 - no HTML
    return environment.from_string(SENTENCES[code]).render({**NUMBERS, **numbers})


def test_every_code_has_a_sentence_and_every_sentence_a_code():
    assert set(SENTENCES) == {code.value for code in DoseCode}


@pytest.mark.parametrize("code", list(DoseCode))
def test_every_code_is_used_by_the_core(code):
    sources = [path.read_text(encoding="utf-8") for path in Path("core").rglob("*.py")]
    assert any(f"DoseCode.{code.name}" in source for source in sources)


@pytest.mark.parametrize("code", list(DoseCode))
def test_every_sentence_has_at_most_fifteen_words(code):
    for sentence in said(code.value).replace("!", ".").split("."):
        assert len(sentence.split()) <= MOST_WORDS


def test_the_sentences_read_at_grade_six_or_lower():
    text = " ".join(said(code.value) for code in DoseCode)
    assert textstat.flesch_kincaid_grade(text) <= 6


def test_numbers_are_said_as_whole_words():
    assert said("made_easier", percent=0.4) == "This is a little easier."
    assert said("held_for_good_sessions", sessions=2).startswith("Two good sessions")


REFUSALS = {
    "hard_yesterday": "next time",
    "after_gap": "after one or two good sessions",
    "way_back": "after one good session",
    "down_after_slip": "after two good sessions",
    "down_after_pain": "ten days without pain",
    "down_after_none_left": "after two good sessions",
    "fewer_after_none_left": "after two good sessions",
    "down_after_none_once": "after two good sessions",
    "down_after_could_not": "after two good sessions",
    "touched_support": "held it twice",
    "over_ceiling": "Only your coach",
    "forbidden": "Only your coach",
    "spared": "when it is well again",
    "no_kit": "if you get it",
    "one_step_a_session": "next time",
    "held_breath_pressure": "next time",
}


@pytest.mark.parametrize("code", REFUSALS)
def test_a_refusal_of_harder_says_what_must_happen_and_when(code):
    asked, plain = said(code, asked=1), said(code)
    assert asked.startswith(plain)
    assert REFUSALS[code] in asked
    assert REFUSALS[code] not in plain
