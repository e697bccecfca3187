"""Short sentences that stand for a button, and those that do not. All texts are invented."""

import pytest
import yaml

from bot.reference.catalogue import LANGUAGE
from core.answers.choices import GRADED, choose
from tests.answers.score import words_of_sets


@pytest.mark.parametrize(
    ("question", "text", "meant"),
    [
        ("trouble", "Nothing at all, thank you.", "nothing"),
        ("trouble", "no nothing wrong today", "nothing"),
        ("trouble", "No, only a little pain", None),
        ("trouble", "nothing but my knee", None),
        ("step_done", "That is done now.", "done"),
        ("step_done", "I am not done yet", None),
        ("step_ready", "I am ready, thank you.", "ready"),
        ("step_ready", "not ready", None),
        ("step_start", "Start the session, please.", "start"),
        ("step_start", "how do I start", None),
        ("ended", "I could not go on, I am sorry.", "could_not"),
        ("ended", "i had little left", "told_to_stop"),
    ],
)
def test_a_sentence_stands_for_a_button_or_for_none(question, text, meant):
    told = choose(text, question, words_of_sets())
    assert (told.value if told is not None and told.sure else None) == meant


@pytest.mark.parametrize("question", sorted(GRADED))
def test_words_of_a_button_mean_the_same_in_a_sentence(question):
    names = yaml.safe_load((LANGUAGE / "names.yaml").read_text("utf-8"))[question]
    for code, entry in names.items():
        for phrase in (entry["label"], *entry.get("also", ())):
            told = choose(f"I would say {phrase}.", question, words_of_sets())
            assert told is None or told.value == code, phrase
