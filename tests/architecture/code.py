"""The code as syntax trees, for tests that read it."""

import ast
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

ROOT = Path(__file__).parent.parent.parent


@dataclass(frozen=True, slots=True)
class Module:
    """One file of the program.

    Attributes:
        name: dotted, such as ``core.slots``.
    """

    name: str
    tree: ast.Module


@cache
def modules(package: str) -> tuple[Module, ...]:
    """Every module of a package, by name; migrations are left to their own tool."""
    found = []
    for path in sorted((ROOT / package).rglob("*.py")):
        name = ".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__")
        if "migrations" not in path.parts:
            found.append(Module(name, ast.parse(path.read_text(encoding="utf-8"))))
    return tuple(found)


def program() -> tuple[Module, ...]:
    """All modules of ``core`` and ``bot``."""
    return (*modules("core"), *modules("bot"))


def dotted(node: ast.AST) -> str:
    """``a.b.c`` of a chain of names, or ""."""
    if isinstance(node, ast.Name):
        return node.id
    if isinstance(node, ast.Attribute):
        before = dotted(node.value)
        return f"{before}.{node.attr}" if before else node.attr
    return ""


@cache
def full_names(module: Module) -> tuple[tuple[int, str], ...]:
    """(line, name) of each name used or imported, spelled out from where it was imported."""
    return tuple(_spelled_out(module))


def _spelled_out(module: Module) -> Iterator[tuple[int, str]]:
    known: dict[str, str] = {}
    for node in ast.walk(module.tree):
        if isinstance(node, ast.Import):
            for one in node.names:
                known[one.asname or one.name] = one.name
                yield node.lineno, one.name
        elif isinstance(node, ast.ImportFrom) and node.module:
            for one in node.names:
                known[one.asname or one.name] = f"{node.module}.{one.name}"
                yield node.lineno, f"{node.module}.{one.name}"
    for node in ast.walk(module.tree):
        if isinstance(node, ast.Attribute | ast.Name):
            name = dotted(node)
            first, _, rest = name.partition(".")
            whole = known.get(first, first)
            yield node.lineno, f"{whole}.{rest}" if rest else whole


@cache
def text_constants(module: Module) -> tuple[tuple[str, ast.Constant], ...]:
    """String constants that are neither docstrings nor what an error says: (text, node) each."""
    return tuple(_text_constants(module))


def _text_constants(module: Module) -> Iterator[tuple[str, ast.Constant]]:
    passed_over: set[int] = set()
    for node in ast.walk(module.tree):
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant):
            passed_over.add(id(node.value))
        if isinstance(node, ast.Raise):
            passed_over.update(id(inner) for inner in ast.walk(node))
    for node in ast.walk(module.tree):
        if (
            isinstance(node, ast.Constant)
            and isinstance(node.value, str)
            and id(node) not in passed_over
        ):
            yield node.value, node
