"""What people type is compared with the language's folder, never with a word in the code."""

import ast
import re
from collections.abc import Iterator
from importlib import import_module

from bot.reference.reference import load_all
from tests.architecture.code import Module, dotted, modules

MAKES_PLAIN = frozenset({"casefold", "lower", "plain_words"})
"""Calls whose result is somebody's words, made ready to be compared."""

COMPARES = frozenset({"startswith", "endswith", "removeprefix", "removesuffix", "replace", "count"})
PATTERN_CALLS = frozenset(
    f"re.{name}"
    for name in (
        "compile",
        "search",
        "match",
        "fullmatch",
        "findall",
        "finditer",
        "sub",
        "split",
    )
)
NO_WORDS_IN_A_PATTERN = re.compile(
    r"\(\?P<\w+>"  # the name of a group
    r"|\(\?[a-z]+[:)]"  # flags
    r"|\\[a-zA-Z]"  # classes such as \d
    r"|\[[^\]]*\]"  # sets of letters
    r"|\{[^}]*\}"  # what is put in, or a count
)


def _words_in(text: str) -> list[str]:
    return re.findall(r"[^\W\d_]{2,}", text)


def _texts(node: ast.AST) -> Iterator[str]:
    """Texts in an expression, but for keys that something is looked up by."""
    if isinstance(node, ast.Subscript):
        yield from _texts(node.value)
    elif isinstance(node, ast.Constant) and isinstance(node.value, str):
        yield node.value
    else:
        for inner in ast.iter_child_nodes(node):
            yield from _texts(inner)


def _is_plain(node: ast.AST, plain: set[str]) -> bool:
    """Whether an expression holds somebody's words in small letters."""
    return any(
        (isinstance(inner, ast.Call) and dotted(inner.func).rpartition(".")[2] in MAKES_PLAIN)
        or (isinstance(inner, ast.Attribute) and inner.attr in MAKES_PLAIN)
        or (isinstance(inner, ast.Name) and inner.id in plain)
        for inner in ast.walk(node)
    )


def _compared(tree: ast.AST) -> Iterator[tuple[int, str]]:
    """(line, word) of words that typed words in small letters are compared with."""
    for function in ast.walk(tree):
        if not isinstance(function, ast.FunctionDef):
            continue
        plain: set[str] = set()
        for node in ast.walk(function):
            if isinstance(node, ast.Assign) and _is_plain(node.value, plain):
                plain |= {one.id for one in node.targets if isinstance(one, ast.Name)}
        for node in ast.walk(function):
            if isinstance(node, ast.Compare):
                sides = [node.left, *node.comparators]
                if any(_is_plain(side, plain) for side in sides):
                    for side in sides:
                        if not _is_plain(side, plain):
                            yield from ((node.lineno, text) for text in _texts(side))
            elif (
                isinstance(node, ast.Call)
                and isinstance(node.func, ast.Attribute)
                and node.func.attr in COMPARES
                and _is_plain(node.func.value, plain)
            ):
                yield from ((node.lineno, text) for given in node.args for text in _texts(given))


def _in_patterns(tree: ast.AST) -> Iterator[tuple[int, str]]:
    """(line, text) of the patterns, without what stands for no word."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and node.args and dotted(node.func) in PATTERN_CALLS:
            for text in _texts(node.args[0]):
                yield node.lineno, NO_WORDS_IN_A_PATTERN.sub(" ", text)


def _typed_words(module: Module) -> list[str]:
    found = [*_compared(module.tree), *_in_patterns(module.tree)]
    return [f"{module.name}:{line} {text!r}" for line, text in found if _words_in(text)]


def test_no_word_that_somebody_may_type_stands_in_a_conversation():
    found = [one for module in modules("bot/flows") for one in _typed_words(module)]

    assert found == []


def test_number_words_stand_in_no_rule_of_core():
    """Those of the warning signs' figures are part of their lexicon."""
    listed = {"one", "two", "ten", "twenty", "hundred", "half"}
    found = {
        module.name
        for module in modules("core")
        if module.name.startswith(("core.number_words", "core.readiness"))
        for text in _texts(module.tree)
        if text in listed
    }

    assert found == set()


def test_the_search_finds_what_it_is_to_keep_out():
    """Ways in which such words stood in conversations before."""
    for line in (
        'def f(text): return text.strip().casefold() == "stop"',
        'def f(text):\n    said = plain_words(text)\n    return said in ("yes", "no")',
        'def f(text):\n    said = text.lower()\n    return said.startswith("mg")',
        'def f(text): return "pound" in text.casefold()',
        'import re\nA = re.compile(r"(\\d)\\s*(?:ft|feet)")',
        'import re\ndef f(said): return re.sub(r"^(at|about)\\s+", "", said)',
    ):
        assert _typed_words(Module("seen", ast.parse(line)))
    for line in (
        'def f(event): return event.value == "stop"',
        'import re\nA = re.compile(r"(?P<hour>[01]?\\d)[:.h](?P<minute>[0-5]\\d)")',
        'def f(text): return text.casefold().replace(",", ".")',
    ):
        assert not _typed_words(Module("seen", ast.parse(line)))


def test_every_question_that_is_pressed_by_words_has_words() -> None:
    """Without an entry any text that is typed there would be set aside with an apology."""
    asked: set[str] = set()
    for module in modules("bot/flows"):
        for call in ast.walk(module.tree):
            if isinstance(call, ast.Call) and dotted(call.func) == "pressed":
                question = call.args[1]
                if isinstance(question, ast.Constant):
                    found = question.value
                else:
                    found = getattr(import_module(module.name), dotted(question))
                assert isinstance(found, str)
                asked.add(found)
    assert len(asked) > 10
    assert asked <= load_all(lambda code: code).reference.answers.keys()
