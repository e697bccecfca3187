"""Compiled templates are kept for the next start, and never say what another file said before."""

import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from jinja2 import Environment

from bot.reference import kept_files, parsed_files
from bot.reference.catalogue import load_words
from bot.reference.kept_files import FOLDER
from bot.reference.movement_words import Movements
from bot.reference.words import Words
from tests.support.facts import reference

FILES = {
    "phrases.j2": "",
    "labels.j2": "\n---\nback: Back\n",
    "hello.j2": "Hello {{ name }}.",
    "fixed.j2": "You train {{ 'squat'|family_name }}.",
    "names.yaml": "family: {squat: knee bends}\n",
}


@pytest.fixture
def started(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Callable[[], Words]:
    """Starts with the same language of the program's own, one after the other."""
    for module in (kept_files, parsed_files):
        monkeypatch.setattr(module, "SHIPPED", tmp_path)
    monkeypatch.setattr(sys, "dont_write_bytecode", False)
    for name, text in FILES.items():
        (tmp_path / name).write_text(text, encoding="utf-8")
    catalogue = reference().catalogue
    movements = Movements(catalogue, load_words(catalogue))
    return lambda: Words(movements, folder=tmp_path)


def no_compiler(*_given: object, **_named: object) -> str:
    raise AssertionError("it was compiled again")


def test_the_second_start_compiles_nothing(
    started: Callable[[], Words], monkeypatch: pytest.MonkeyPatch
):
    assert started().render("hello", {"name": "Mary"}).text == "Hello Mary."
    monkeypatch.setattr(Environment, "compile", no_compiler)
    assert started().render("hello", {"name": "Bob"}).text == "Hello Bob."


def test_a_changed_template_is_said_as_it_is_now(started: Callable[[], Words], tmp_path: Path):
    started().render("hello", {"name": "Mary"})
    (tmp_path / "hello.j2").write_text("Good day {{ name }}.", encoding="utf-8")
    assert started().render("hello", {"name": "Mary"}).text == "Good day Mary."


def test_a_changed_list_is_said_as_it_is_now(started: Callable[[], Words], tmp_path: Path):
    """The library works out filters of fixed values when it compiles."""
    assert started().render("fixed", {}).text == "You train knee bends."
    (tmp_path / "names.yaml").write_text("family: {squat: sit to stand}\n", encoding="utf-8")
    assert started().render("fixed", {}).text == "You train sit to stand."


def test_a_page_is_escaped_though_the_same_template_was_kept_for_a_message(
    started: Callable[[], Words],
):
    assert started().render("hello", {"name": "<b>"}).text == "Hello <b>."
    assert started().page("hello", {"name": "<b>"}) == "Hello &lt;b&gt;."
    assert started().render("hello", {"name": "<b>"}).text == "Hello <b>."


@pytest.mark.parametrize("kept", [b"", b"j2", b"no code at all" * 20])
def test_a_damaged_one_is_compiled_again(started: Callable[[], Words], tmp_path: Path, kept: bytes):
    started().render("hello", {"name": "Mary"})
    for one in (tmp_path / FOLDER).iterdir():
        one.write_bytes(kept)
    assert started().render("hello", {"name": "Bob"}).text == "Hello Bob."
