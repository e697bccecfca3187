"""Every label, heading, command and chart title that a person may see, from the templates.

``python -m tests.bot.reference.labels`` prints them, to be read with one question: would a
practitioner think of another program? ``test_labels`` keeps what was retired from coming back.
"""

import re
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import yaml

from bot.reference.catalogue import TEMPLATES

ENGLISH = TEMPLATES / "en"
PAGES = tuple(TEMPLATES / "page" / name for name in ("index.html", "waiting.html"))
_TAG = re.compile(r"<[^>]*>")
_JINJA = re.compile(r"\{#.*?#\}|\{%.*?%\}", re.DOTALL)
_VALUE = re.compile(r"\{\{.*?\}\}", re.DOTALL)
_BUTTON = re.compile(r"^(?:[\w=]|\{\{.*?\}\})+: ", re.MULTILINE)


@dataclass(frozen=True, slots=True)
class Shown:
    """Words as a person may see them; ``where``: the file below the language's folder."""

    where: str
    kind: str
    words: str


def labels() -> Iterator[Shown]:
    """Buttons, headings, names, commands, chart titles and the page, file by file."""
    for path in sorted(ENGLISH.rglob("*.j2")):
        where, text, buttons = _parts(path)
        heading = next((line for line in text.splitlines() if line.strip()), "")
        if heading:
            yield Shown(where, "heading", heading.strip())
        for button in buttons:
            yield Shown(where, "button", button)
    for name in ("names.yaml", "commands.yaml", "menu_commands.yaml", "charts.yaml"):
        for words in _texts(yaml.safe_load((ENGLISH / name).read_text("utf-8"))):
            yield Shown(name, "name", words)
    for page in PAGES:
        for line in _TAG.sub("", page.read_text("utf-8")).splitlines():
            if line.strip():
                yield Shown(f"page/{page.name}", "page", line.strip())


@cache
def texts() -> tuple[Shown, ...]:
    """All words of every template, without what is computed."""
    return tuple(_read_all())


def _read_all() -> Iterator[Shown]:
    for path in sorted(ENGLISH.rglob("*.j2")):
        where, text, buttons = _parts(path)
        yield Shown(where, "text", text)
        for button in buttons:
            yield Shown(where, "button", button)
    for path in sorted(ENGLISH.rglob("*.yaml")):
        if path.parent.name == "words":
            # What people type, never what they see.
            continue
        for words in _texts(yaml.safe_load(path.read_text("utf-8"))):
            yield Shown(path.relative_to(ENGLISH).as_posix(), "name", words)
    for page in PAGES:
        yield Shown(f"page/{page.name}", "page", _TAG.sub("", page.read_text("utf-8")))


def _parts(path: Path) -> tuple[str, str, list[str]]:
    bare = _JINJA.sub("", path.read_text("utf-8"))
    text, _, buttons = bare.partition("\n---\n")
    found = [line.strip() for line in buttons.splitlines() if line.strip()]
    labels_of = [_VALUE.sub("…", _BUTTON.sub("", line)) for line in found]
    return path.relative_to(ENGLISH).as_posix(), _VALUE.sub("…", text), labels_of


def _texts(entry: Any) -> Iterator[str]:
    if isinstance(entry, dict):
        for key, value in entry.items():
            if key != "also":
                yield from _texts(value)
    elif isinstance(entry, list):
        for value in entry:
            yield from _texts(value)
    elif isinstance(entry, str):
        yield entry


if __name__ == "__main__":
    for shown in labels():
        sys.stdout.write(f"{shown.where}\t{shown.kind}\t{shown.words}\n")
