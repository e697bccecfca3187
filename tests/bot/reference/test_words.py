"""Templates become final words: nothing missing, nothing doubled, buttons named."""

from pathlib import Path
from shutil import rmtree

import pytest

from bot.errors import WordsError
from bot.flows.machine import Button, Say
from bot.flows.parsing import Why
from bot.reference.catalogue import load_words
from bot.reference.movement_words import Movements
from bot.reference.words import Words, spoken_list
from tests.support.facts import reference


@pytest.fixture
def words(tmp_path: Path) -> Words:
    """A language of a few templates."""
    (tmp_path / "reasons").mkdir()
    files = {
        "phrases.j2": "{% macro plural(n, one, many) %}{{ n }} {{ one if n == 1 else many }}"
        "{% endmacro %}",
        "labels.j2": "\n---\nback: Back\n",
        "hello.j2": "Hello {{ name }}.\n\n\n\nHow are you?  \n---\nyes: Yes\nat=07:00: 7:00\n",
        "counted.j2": "{{ plural(n, 'day', 'days') }}",
        "broken.j2": "{% if %}",
        "names.yaml": "sign: {dizzy: dizziness}\nday: {'1': {full: Monday}}\n",
        "regional.yaml": "GB: {bench: worktop}\n",
        "reasons/dose.yaml": "up: You did {{ reps }} last time.\n",
    }
    for name, text in files.items():
        (tmp_path / name).write_text(text, encoding="utf-8")
    catalogue = reference().catalogue
    return Words(Movements(catalogue, load_words(catalogue)), folder=tmp_path)


def value_of(button: Button) -> str:
    return button.value


def test_text_and_labels_are_told_apart_and_spaces_are_tidied(words: Words):
    rendered = words.render("hello", {"name": "Mary"})

    assert rendered.text == "Hello Mary.\n\nHow are you?"
    assert rendered.labels == {"yes": "Yes", "at=07:00": "7:00"}


@pytest.mark.parametrize(
    ("template", "values"),
    [
        pytest.param("hello", {}, id="a value that is missing"),
        pytest.param("no_such", {}, id="a template that is missing"),
        pytest.param("broken", {}, id="a template that is wrong"),
    ],
)
def test_what_cannot_be_said_fails_and_names_the_template(
    words: Words, template: str, values: dict[str, str]
):
    with pytest.raises(WordsError, match=template):
        words.render(template, values)


def test_words_need_no_file_once_they_are_loaded(words: Words):
    rmtree(words.folder)

    assert words.render("hello", {"name": "Mary"}).labels["yes"] == "Yes"
    assert words.word("names", "sign", "dizzy") == "dizziness"
    assert words.reason("dose", "up", {"reps": 12}) == "You did 12 last time."


def test_macros_of_phrases_are_there_in_every_template(words: Words):
    assert words.render("counted", {"n": 1}).text == "1 day"
    assert words.render("counted", {"n": 3}).text == "3 days"


@pytest.mark.parametrize(
    ("button", "label"),
    [
        pytest.param(Button("yes"), "Yes", id="by the template"),
        pytest.param(Button("back"), "Back", id="by the common labels"),
        pytest.param(Button("at=07:00"), "7:00", id="a value with a colon in it"),
        pytest.param(Button("floor~yes"), "Yes", id="by what follows the question's name"),
        pytest.param(Button("17", label="Hemi"), "Hemi", id="by data"),
    ],
)
def test_a_button_gets_its_label(words: Words, button: Button, label: str):
    said = words.say(Say("hello", {"name": "Mary"}, rows=((button,),)), {}, tap=value_of)

    assert said.choices[0][0].label == label


def test_a_button_without_a_label_fails(words: Words):
    say = Say("hello", {"name": "Mary"}, rows=((Button("maybe"),),))

    with pytest.raises(WordsError, match="no label for the button maybe"):
        words.say(say, {}, tap=value_of)


def test_a_button_that_sends_back_more_than_64_bytes_fails(words: Words):
    say = Say("hello", {"name": "Mary"}, rows=((Button("yes"),),))

    with pytest.raises(WordsError, match="too long"):
        words.say(say, {}, tap=lambda _button: "é" * 33)


def test_a_word_list_names_what_it_lacks(words: Words):
    assert words.word("names", "sign", "dizzy") == "dizziness"
    with pytest.raises(WordsError, match=r"names.yaml has no entry sign.faint"):
        words.word("names", "sign", "faint")
    with pytest.raises(WordsError, match=r"nothing.yaml is missing"):
        words.word("nothing", "sign")


def test_a_reason_is_a_sentence_with_its_numbers(words: Words):
    assert words.reason("dose", "up", {"reps": 12}) == "You did 12 last time."
    with pytest.raises(WordsError, match=r"reasons/dose.yaml, up"):
        words.reason("dose", "up", {})
    with pytest.raises(WordsError, match="no entry down"):
        words.reason("dose", "down")


@pytest.mark.parametrize(
    ("items", "spoken"),
    [
        ([], ""),
        (["knee"], "knee"),
        (["knee", "hip"], "knee and hip"),
        (["knee", "", "hip", "wrist"], "knee, hip and wrist"),
    ],
)
def test_a_list_is_said_as_people_say_it(items: list[str], spoken: str):
    assert spoken_list(items, "and") == spoken


@pytest.mark.parametrize("why", list(Why))
def test_every_reason_to_ask_again_has_a_sentence(why: Why):
    words = Words(Movements(reference().catalogue, load_words(reference().catalogue)))

    assert words.render("form/again", {"again": why.value, "again_about": "x"}).text
