"""What was retired from screens stays away: names and signs that many dashboards share."""

import re

import pytest

from tests.bot.reference.labels import labels, texts

MEASURES = "coach/measures.j2"
"""The one page where a trainer asks for the published measures; each is named with its source."""
RETIRED = {
    "a score out of 100": re.compile(r"\bof 100\b", re.IGNORECASE),
    "the morning as a score": re.compile(r"\breadiness\b", re.IGNORECASE),
    "strain": re.compile(r"\bstrain\b", re.IGNORECASE),
    "monotony": re.compile(r"\bmonotony\b", re.IGNORECASE),
    "sameness": re.compile(r"\bsameness\b", re.IGNORECASE),
    "training load": re.compile(r"\bload of each week\b|\btraining load\b", re.IGNORECASE),
    "coloured discs and squares": re.compile(
        "[\u26aa\u26ab\U0001f534\U0001f535\U0001f7e0-\U0001f7eb]"
    ),
}


@pytest.mark.parametrize("retired", RETIRED)
def test_what_was_retired_is_shown_nowhere(retired: str) -> None:
    found = [one for one in texts() if RETIRED[retired].search(one.words)]
    assert [one for one in found if one.where != MEASURES] == []


def test_the_search_would_find_them() -> None:
    """Else a fault in reading the templates would let everything pass."""
    assert any(one.where == MEASURES and RETIRED["strain"].search(one.words) for one in texts())


def test_the_mornings_buttons_carry_words() -> None:
    """Their values are numbers; what is shown is not."""
    shown = [one.words for one in labels() if one.where == "checkin/ask_sleep.j2"]
    assert not any(re.search(r"\d", words) for words in shown)
    asked = [one.words for one in texts() if one.where == "names.yaml"]
    assert {"Very well", "Worn out", "Very calm"} <= set(asked)
