"""The slot grammar that training texts are made of."""

import yaml

from core.vocabulary import Sign, TextLevel
from tests.redflags import FOLDER
from tests.support.red_flag_generator import SIGNS, generate


def rarer():
    return yaml.safe_load((FOLDER / "grammar_rarer.yaml").read_text(encoding="utf-8"))


def test_the_grammar_of_rarer_signs_names_signs_and_tells_each_in_every_way():
    for sign, ways in rarer().items():
        assert sign in set(Sign)
        assert set(ways) == {"nouns", "happened", "told", "near"}
        assert all(isinstance(text, str) for texts in ways.values() for text in texts)


def test_texts_made_are_the_same_again_and_labelled_by_the_table_of_signs():
    made = list(generate(600, 5))

    assert made == list(generate(600, 5))
    for one in made:
        emergency = any(SIGNS[Sign(flag)].text_level is TextLevel.EMERGENCY for flag in one.flags)
        assert (one.label == "none") is not bool(one.flags)
        assert (one.label == "emergency") is emergency


def test_told_texts_are_positive_and_near_ones_are_not():
    told, near = (
        {text for ways in rarer().values() for text in ways[way]} for way in ("told", "near")
    )

    for one in generate(2000, 6):
        if one.kind == "told":
            assert one.flags
            assert any(text in one.text for text in told)
        if one.kind == "near":
            assert not one.flags
            assert any(text in one.text for text in near)
