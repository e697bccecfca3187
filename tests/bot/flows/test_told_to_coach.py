"""What a coach reads of a morning: every reason has words in the third person."""

import re
from pathlib import Path

import pytest
import yaml

from bot.flows.record.told_to_coach import sugar_as_told
from core.readiness.reasons import DayReasonCode
from core.vocabulary import MMOL_PER_MG

COACH_WORDS = yaml.safe_load(
    Path("templates/en/reasons/readiness_coach.yaml").read_text(encoding="utf-8")
)


def test_every_reason_of_a_day_has_words_for_the_coach():
    assert set(COACH_WORDS) == {code.value for code in DayReasonCode}


@pytest.mark.parametrize("code", sorted(COACH_WORDS))
def test_they_speak_of_the_client_and_not_to_them(code: str):
    assert not re.search(r"\b(you|your|tell me)\b", COACH_WORDS[code], re.IGNORECASE)


@pytest.mark.parametrize(
    ("mmol", "unit", "told"),
    [
        (19.6, "mmol/L", "19.6 mmol/L"),
        (350 * MMOL_PER_MG, "mg/dL", "350 mg/dL"),
        (52 * MMOL_PER_MG, "mg/dL", "52 mg/dL"),
    ],
)
def test_a_sugar_is_said_as_it_was_typed(mmol: float, unit: str, told: str):
    assert sugar_as_told(mmol, unit) == told
