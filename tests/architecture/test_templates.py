"""Words live in templates: each is there, is used, and names its buttons once."""

import ast
import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import yaml
from jinja2 import Environment, FileSystemLoader, meta

from bot.phone_numbers import shown_to
from bot.pictures.store import CHARTS
from bot.reference.words import LABELS_FROM, spoken_list
from tests.architecture.code import ROOT, Module, modules, program, text_constants

WORDS = ROOT / "templates" / "en"
READ_WHOLE = ("movements/",)
"""Folders whose every file is read."""

FORMS = ("join", "coach/lift", "coach/limit", "coach/own")
"""Folders of forms: a question's key is its template."""

LONGEST = 40
"""Characters; a longer text with spaces in it is a sentence for somebody."""

NOT_SENTENCES = {
    "core.movements.catalogue_loader": "what is wrong with a movement file, for whoever writes one",
    "core.mechanics.pose_input": "an annotation of a type",
    "core.mechanics.pose_plank": "an annotation of a type",
    "core.red_flags.number_finder": "a pattern",
    "core.red_flags.number_cues": "patterns",
}
"""Modules whose long texts are read by nobody that we serve -> what they are."""


@cache
def environment() -> Environment:
    made = Environment(loader=FileSystemLoader(WORDS), autoescape=False)  # noqa: S701 - plain text
    made.filters["spoken"] = spoken_list
    made.filters["dialled"] = shown_to
    return made


@cache
def names() -> frozenset[str]:
    """All templates, without their ending."""
    return frozenset(
        path.relative_to(WORDS).with_suffix("").as_posix() for path in WORDS.rglob("*.j2")
    )


@cache
def word_lists() -> frozenset[str]:
    return frozenset(
        path.relative_to(WORDS).with_suffix("").as_posix() for path in WORDS.rglob("*.yaml")
    )


@cache
def folders() -> frozenset[str]:
    return frozenset(path.name for path in WORDS.iterdir() if path.is_dir())


def looks_like_a_template(text: str) -> bool:
    return bool(re.fullmatch(r"[a-z_]+(/[a-z_0-9]+)+", text)) and text.split("/")[0] in folders()


def named(module: Module) -> Iterator[str]:
    """Templates that a module names in full."""
    parts = {
        id(part)
        for node in ast.walk(module.tree)
        if isinstance(node, ast.JoinedStr)
        for part in node.values
    }
    for text, constant in text_constants(module):
        if id(constant) not in parts and looks_like_a_template(text) and text not in FORMS:
            yield text


def patterns(module: Module) -> Iterator[re.Pattern[str]]:
    """Templates whose names a module puts together: a pattern each."""
    for node in ast.walk(module.tree):
        if isinstance(node, ast.JoinedStr):
            parts = [
                re.escape(str(part.value)) if isinstance(part, ast.Constant) else "[a-z_0-9]+"
                for part in node.values
            ]
            first = node.values[0]
            starts = str(first.value) if isinstance(first, ast.Constant) else ""
            if "/" in starts and starts.split("/")[0] in folders() and " " not in "".join(parts):
                yield re.compile("".join(parts))


def said_outright(module: Module) -> Iterator[str]:
    """First arguments of ``Say("...")``."""
    for node in ast.walk(module.tree):
        if isinstance(node, ast.Call) and getattr(node.func, "id", "") == "Say" and node.args:
            first = node.args[0]
            if isinstance(first, ast.Constant) and isinstance(first.value, str):
                yield first.value


def test_every_template_compiles():
    for name in sorted(names()):
        environment().get_template(f"{name}.j2")


def test_every_template_that_the_code_names_is_there():
    missing = {
        f"{module.name}: {name}"
        for module in modules("bot")
        for name in (*named(module), *said_outright(module))
        if name not in names() | word_lists()
    }

    assert missing == set()


def test_every_name_that_the_code_puts_together_can_be_a_template():
    missing = {
        f"{module.name}: {pattern.pattern}"
        for module in modules("bot")
        for pattern in patterns(module)
        if not any(pattern.fullmatch(name) for name in names() | word_lists())
    }

    assert missing == set()


def test_every_template_is_used():
    used = {name for module in modules("bot") for name in named(module)}
    made = [pattern for module in modules("bot") for pattern in patterns(module)]
    used |= {name for name in names() if any(pattern.fullmatch(name) for pattern in made)}
    plain = {text for module in program() for text, _ in text_constants(module)}
    used |= {name for name in names() if name in plain or f"{name}.j2" in plain}
    used |= {
        name
        for name in names()
        for form in FORMS
        if name.startswith(f"{form}/") and name.removeprefix(f"{form}/") in plain
    }
    for name in names():
        source = (WORDS / f"{name}.j2").read_text(encoding="utf-8")
        for other in meta.find_referenced_templates(environment().parse(source)):
            used.add(str(other).removesuffix(".j2"))

    assert names() - used == set()


def test_every_word_list_is_read_and_every_list_that_is_read_is_there():
    everything = "\n".join(path.read_text(encoding="utf-8") for path in WORDS.rglob("*.j2"))
    plain = {text for module in program() for text, _ in text_constants(module)}
    read = {
        name
        for name in word_lists()
        if name in plain
        or f"{name}.yaml" in plain
        or f'words("{name}"' in everything
        or name.startswith(READ_WHOLE)
        or (name.startswith("reasons/") and _reasons_named(name.removeprefix("reasons/")))
    }
    assert word_lists() - read == set()

    asked = set(re.findall(r'words\("([a-z_/]+)"', everything))
    for module in modules("bot"):
        for node in ast.walk(module.tree):
            if isinstance(node, ast.Call) and getattr(node.func, "attr", "") == "word":
                first = node.args[0]
                if isinstance(first, ast.Constant):
                    asked.add(first.value)
    assert asked - word_lists() == set()


def _reasons_named(group: str) -> bool:
    """Whether a template or the code asks for reasons of this group."""
    in_templates = any(
        re.search(rf'reason\(\s*"{group}"|["\']{group}["\']', path.read_text(encoding="utf-8"))
        for path in WORDS.rglob("*.j2")
    )
    plain = {text for module in modules("bot") for text, _ in text_constants(module)}
    return in_templates or group in plain


def test_a_button_is_named_once_in_a_template():
    for name in sorted(names()):
        source = f"\n{(WORDS / f'{name}.j2').read_text(encoding='utf-8')}"
        _, _, labels = source.partition(LABELS_FROM)
        # Branches of a condition and rounds of a loop may each name a button.
        plain = re.sub(r"{%-?\s*(if|for).*?end\1\s*-?%}", "", labels, flags=re.DOTALL)
        lines = [line for line in plain.splitlines() if line.strip() and "{%" not in line]
        values = [line.partition(": ")[0].strip() for line in lines]

        assert len(values) == len(set(values)), name
        assert [line for line in lines if ": " not in line] == [], name


def test_every_word_list_is_plain_yaml():
    for name in word_lists():
        assert yaml.safe_load(Path(WORDS / f"{name}.yaml").read_text(encoding="utf-8"))


def test_no_sentence_for_people_stands_in_core_or_in_a_conversation():
    found = [
        f"{module.name}:{constant.lineno} {text!r}"
        for module in program()
        if module.name.startswith(("core", "bot.flows", "bot.messages", "bot.alerts"))
        and module.name not in NOT_SENTENCES
        for text, constant in text_constants(module)
        if len(text) > LONGEST and " " in text and not _logged(module, constant)
    ]

    assert found == []


def _logged(module: Module, constant: ast.Constant) -> bool:
    """Whether a text is an argument of a log line, which the operator reads."""
    return any(
        isinstance(node, ast.Call)
        and getattr(getattr(node.func, "value", None), "id", "") in ("log", "logger")
        and constant in node.args
        for node in ast.walk(module.tree)
    )


def test_every_chart_is_said_in_words():
    assert set(yaml.safe_load((WORDS / "charts.yaml").read_text(encoding="utf-8"))) == set(CHARTS)
