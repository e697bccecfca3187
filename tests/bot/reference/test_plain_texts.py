"""What clients read is plain and asks one thing at a time; phrases that puzzled are gone."""

import re
from pathlib import Path

import pytest

from bot.reference.catalogue import LANGUAGE

FOR_COACHES = {"coach", "letters", "words"}
CLIENT_FILES = [
    path
    for kind in ("*.j2", "*.yaml")
    for path in sorted(LANGUAGE.rglob(kind))
    if path.relative_to(LANGUAGE).parts[0] not in FOR_COACHES
]
PUZZLING = (
    "three quarters of the way",
    "one and three quarter",
    "lean about",
    "90 is level",
    "back long",
    "clean ones",
    "share it with the button",
    "2 to 4 of ten",
    "5 or more",
)
"""Ours: readers of the first texts stumbled over them."""
COMMENT, TAG, VALUE = r"\{#.*?#\}", r"\{%.*?%\}", r"\{\{.*?\}\}"


def _named(path: Path) -> str:
    return path.relative_to(LANGUAGE).as_posix()


def test_there_are_texts():
    assert len(CLIENT_FILES) > 150


@pytest.mark.parametrize("phrase", PUZZLING)
def test_a_phrase_that_puzzled_is_gone(phrase: str):
    found = [_named(path) for path in CLIENT_FILES if phrase in path.read_text("utf-8").casefold()]
    assert found == []


def test_no_message_asks_two_things():
    """Text between two tags of a template stands in one message."""
    asks_two = []
    for path in CLIENT_FILES:
        if path.suffix != ".j2":
            continue
        said = re.sub(COMMENT, "", path.read_text("utf-8"), flags=re.DOTALL)
        said = re.sub(VALUE, "", said.partition("\n---\n")[0], flags=re.DOTALL)
        pieces = re.split(TAG, said, flags=re.DOTALL)
        if any(piece.count("?") > 1 for piece in pieces):
            asks_two.append(_named(path))
    assert asks_two == []


def test_no_line_of_a_word_list_asks_two_things():
    lists = [path for path in CLIENT_FILES if path.suffix == ".yaml"]
    lines = [line for path in lists for line in path.read_text("utf-8").splitlines()]
    plain = [re.sub(TAG + "|" + VALUE, "|", line) for line in lines]
    assert [line for line in plain if any(part.count("?") > 1 for part in line.split("|"))] == []
