"""Answers by writers who had not seen the reader: how many are read right, and none badly wrong.

The sets were mended by, so their figures are a floor that must not sink, and no measure of new
answers; for that the command scores a set that nobody has read (``python -m tests.answers``).
"""

from pathlib import Path

import pytest

from tests.answers.score import NEVER_WRONG, SETS, answers_in, verdict_on, words_of_sets

RIGHT_AT_LEAST, WRONG_AT_MOST = 0.95, 0.01


@pytest.mark.parametrize("path", sorted(SETS.glob("open_*.jsonl")), ids=lambda path: path.stem)
def test_an_open_set_is_read_right(path: Path):
    words = words_of_sets()
    verdicts = [verdict_on(answer, words) for answer in answers_in(path)]
    wrong = [one for one in verdicts if one.wrong]

    assert sum(one.right for one in verdicts) >= RIGHT_AT_LEAST * len(verdicts)
    assert len(wrong) <= WRONG_AT_MOST * len(verdicts)
    assert [one.answer.text for one in wrong if one.answer.question in NEVER_WRONG] == []
