"""Every code of a judgement has its words, and they are plain."""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
import textstat
import yaml
from jinja2 import Environment, StrictUndefined

from core.client.home_test_care import RatherNot
from core.client.home_tests import HomeTest, Mind, NormBand
from core.client.screening import Decision, HealthChange, IntensityWish, ScreeningSign
from core.intensity.effort_guide import IntensityCode
from core.readiness.reasons import DayReasonCode
from core.readiness.scales import SESSION_EFFORT, SESSION_EFFORT_WORDED
from core.vocabulary import Condition

FOLDER = Path(__file__).parents[3] / "templates" / "en" / "reasons"
NUMBERS = {
    "count": 3, "level": 4, "before": 2, "pulse": 104, "rise": 2.3, "low": 75, "high": 105,
    "ceiling": 114, "until": "11:20", "conditions": "arthritis", "signs": "swollen ankles",
    "date": "3 May",
}  # fmt: skip
WORDS = Environment(undefined=StrictUndefined, autoescape=False)  # noqa: S701 - plain chat text


def entries(name):
    return yaml.safe_load((FOLDER / f"{name}.yaml").read_text(encoding="utf-8"))


def sentences(value) -> Iterator[str]:
    if isinstance(value, str):
        yield WORDS.from_string(value).render(NUMBERS)
    else:
        for each in value.values():
            yield from sentences(each)


def for_clients(name):
    found = entries(name)
    found.pop("proposal", None)
    for to_coach in ("falls_risk", "rather_not"):
        found.get("home_tests", {}).pop(to_coach, None)
    return list(sentences(found))


def test_every_reason_has_one_sentence_and_every_sentence_a_reason():
    assert set(entries("readiness")) == set(DayReasonCode)


def test_every_effort_code_has_its_words():
    assert set(entries("intensity")) == set(IntensityCode)


def test_the_effort_asked_for_has_a_word_at_every_number():
    """Foster 2001 has none at 6, 8 and 9: those are ours, and the scale has a name of its own."""
    phrases = yaml.safe_load((FOLDER.parent / "phrases.yaml").read_text(encoding="utf-8"))
    assert {int(value) for value in phrases["session_effort"]} == set(SESSION_EFFORT_WORDED.anchors)
    assert set(SESSION_EFFORT_WORDED.anchors) == set(range(11))
    assert SESSION_EFFORT.anchors.items() <= SESSION_EFFORT_WORDED.anchors.items()


def test_every_screening_code_has_its_words():
    found = entries("screening")
    names = yaml.safe_load((FOLDER.parent / "names.yaml").read_text(encoding="utf-8"))
    assert set(names["condition"]) == set(Condition)
    assert set(names["screening_sign"]) == set(ScreeningSign)
    assert set(names["wish"]) == set(IntensityWish)
    assert set(found["change"]) == set(HealthChange)
    assert set(Decision) <= set(found["proposal"])


def test_every_home_test_has_its_words():
    found = entries("screening")["home_tests"]
    assert set(found) - {"mind", "falls_risk", "rather_not"} == set(HomeTest)
    assert set(found["rather_not"]) == set(RatherNot)
    assert set(found["mind"]) == set(Mind)
    for test in (HomeTest.CHAIR_STAND, HomeTest.ARM_CURL):
        assert set(found[test]) - {"how"} == set(NormBand)


def test_the_first_days_are_not_compared_and_bad_nights_in_a_row_are_counted():
    def said(code, **numbers):
        return WORDS.from_string(entries("readiness")[code]).render(numbers)

    assert "usual" in said("sleep_low", answer=2, usual=3.7)
    assert "usual" not in said("sleep_low", answer=2, usual=3.7, new=1)
    assert said("sleep_worst", running=3) == "That is 3 very bad nights in a row."
    assert said("sleep_worst") == "You had a very bad night.", "as rows of before have it"


@pytest.mark.parametrize("name", ["readiness", "intensity", "screening"])
def test_client_texts_read_at_grade_six_or_lower(name):
    """AMA and NIH: grade 6. Flesch and Kincaid's grade of all sentences together."""
    text = " ".join(line if line[-1] in ".?!" else f"{line}." for line in for_clients(name))
    assert textstat.flesch_kincaid_grade(text) <= 6


@pytest.mark.parametrize("name", ["readiness", "intensity", "screening"])
def test_no_sentence_is_longer_than_fifteen_words(name):
    for line in sentences(entries(name)):
        for sentence in re.split(r"(?<=[.?!])\s+", line):
            assert len(sentence.split()) <= 15, sentence
