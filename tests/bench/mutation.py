"""Do the tests notice a wrong rule? One small change at a time, and the tests run on each.

Usage: ``python -m tests.bench.mutation core.readiness.readiness
tests/core/readiness/test_readiness.py ...``

Every comparison, sum, product, and/or, not, number, truth value, min/max and choice of the module
is changed once. A mutant that no test fails on is a survivor and is printed with its line. Children
are forked one after the other, so that the libraries are imported once.
"""

import argparse
import ast
import copy
import importlib.abc
import importlib.util
import os
import sys
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import pytest
from rich.console import Console
from rich.progress import track

_SWAPPED_COMPARISONS: dict[type[ast.cmpop], type[ast.cmpop]] = {
    ast.Lt: ast.LtE,
    ast.LtE: ast.Lt,
    ast.Gt: ast.GtE,
    ast.GtE: ast.Gt,
    ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq,
    ast.Is: ast.IsNot,
    ast.IsNot: ast.Is,
    ast.In: ast.NotIn,
    ast.NotIn: ast.In,
}
_SWAPPED_OPERATORS: dict[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
    ast.BitAnd: ast.BitOr,
    ast.BitOr: ast.BitAnd,
}
_SWAPPED_NAMES = {"min": "max", "max": "min", "any": "all", "all": "any"}
_SECONDS_A_MUTANT = 60
_REWRITE_WARNING = "pytest.PytestAssertRewriteWarning"


@dataclass(frozen=True)
class Mutant:
    """A changed module, and what was changed where."""

    line: int
    what: str
    tree: ast.Module


def mutants(source: str) -> Iterator[Mutant]:
    """Every mutant of a module's source; annotations, decorators and docstrings are left alone."""
    tree = ast.parse(source)
    for index, node in enumerate(ast.walk(tree)):
        for variant, what in enumerate(_changes(node)):
            changed = copy.deepcopy(tree)
            target = next(n for i, n in enumerate(ast.walk(changed)) if i == index)
            if index not in _left_alone(tree):
                _apply(target, variant)
                yield Mutant(getattr(node, "lineno", 0), what, ast.fix_missing_locations(changed))


def _left_alone(tree: ast.Module) -> set[int]:
    """Places in walking order that no behaviour depends on."""
    places = {id(node): index for index, node in enumerate(ast.walk(tree))}
    found: set[int] = set()
    for node in ast.walk(tree):
        parts: list[ast.AST | None] = list(getattr(node, "decorator_list", []))
        parts += [getattr(node, "annotation", None), getattr(node, "returns", None)]
        for part in parts:
            if part is not None:
                found |= {places[id(inner)] for inner in ast.walk(part)}
    return found


def _changes(node: ast.AST) -> list[str]:
    """What can be changed at a node, one entry a mutant."""
    if isinstance(node, ast.Compare):
        return [f"{type(op).__name__} swapped" for op in node.ops]
    if isinstance(node, ast.BinOp) and type(node.op) in _SWAPPED_OPERATORS:
        return [f"{type(node.op).__name__} swapped"]
    if isinstance(node, ast.BoolOp):
        return [f"{type(node.op).__name__} swapped"]
    if isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.Not | ast.USub):
        return [f"{type(node.op).__name__} dropped"]
    if isinstance(node, ast.Constant) and isinstance(node.value, bool | int | float):
        return [f"{node.value} changed"]
    if isinstance(node, ast.Name) and node.id in _SWAPPED_NAMES:
        return [f"{node.id} swapped"]
    if isinstance(node, ast.IfExp):
        return ["choice swapped"]
    return []


def _apply(node: ast.AST, variant: int) -> None:
    match node:
        case ast.Compare():
            node.ops[variant] = _SWAPPED_COMPARISONS[type(node.ops[variant])]()
        case ast.BinOp():
            node.op = _SWAPPED_OPERATORS[type(node.op)]()
        case ast.BoolOp():
            node.op = ast.Or() if isinstance(node.op, ast.And) else ast.And()
        case ast.UnaryOp():
            node.op = ast.UAdd() if isinstance(node.op, ast.USub) else ast.Not()
            if isinstance(node.op, ast.Not):
                node.operand = ast.UnaryOp(ast.Not(), node.operand)
        case ast.Constant(value=bool(value)):
            node.value = not value
        case ast.Constant(value=int(value)):
            node.value = value + 1
        case ast.Constant(value=float(value)):
            node.value = value * 1.1 + 0.01
        case ast.Name():
            node.id = _SWAPPED_NAMES[node.id]
        case ast.IfExp():
            node.body, node.orelse = node.orelse, node.body


class _MutantFinder(importlib.abc.MetaPathFinder, importlib.abc.Loader):
    """Gives the changed module when its name is imported."""

    def __init__(self, name: str, path: Path, tree: ast.Module) -> None:
        self._name, self._path, self._tree = name, path, tree

    def find_spec(self, fullname, path=None, target=None):
        if fullname != self._name:
            return None
        return importlib.util.spec_from_loader(fullname, self, origin=str(self._path))

    def exec_module(self, module) -> None:
        exec(compile(self._tree, str(self._path), "exec"), module.__dict__)  # noqa: S102 - the point


def is_killed(name: str, path: Path, mutant: Mutant, tests: Sequence[str]) -> bool:
    """Run the tests on one mutant in a forked child; a child that hangs counts as killed."""
    child = os.fork()
    if child == 0:
        quiet = os.open(os.devnull, os.O_WRONLY)
        os.dup2(quiet, 1)
        os.dup2(quiet, 2)
        sys.meta_path.insert(0, _MutantFinder(name, path, mutant.tree))
        options = ["-x", "-q", "-p", "no:cacheprovider", "-W", f"ignore::{_REWRITE_WARNING}"]
        os._exit(int(pytest.main([*options, *tests]) != 0))
    ends = time.monotonic() + _SECONDS_A_MUTANT
    while time.monotonic() < ends:
        finished, status = os.waitpid(child, os.WNOHANG)
        if finished:
            return os.waitstatus_to_exitcode(status) != 0
        time.sleep(0.01)
    os.kill(child, 9)
    os.waitpid(child, 0)
    return True


def main() -> None:
    """Print the killed share and every survivor."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("module")
    parser.add_argument("tests", nargs="+")
    options = parser.parse_args()
    path = Path(*options.module.split(".")).with_suffix(".py")
    console = Console()
    # Imported before the fork for speed; nothing of the core may be.
    for library in ("hypothesis", "numpy", "pandas", "scipy.stats", "yaml", "pytest_asyncio"):
        importlib.import_module(library)
    source = path.read_text(encoding="utf-8")
    everything = list(mutants(source))
    if is_killed(options.module, path, Mutant(0, "unchanged", ast.parse(source)), options.tests):
        raise SystemExit("the tests fail on the unchanged module")
    survivors = [
        mutant
        for mutant in track(everything, f"Mutants of {options.module}", console=console)
        if not is_killed(options.module, path, mutant, options.tests)
    ]
    lines = source.splitlines()
    for mutant in survivors:
        console.print(f"{mutant.line:4d} {mutant.what}: {lines[mutant.line - 1].strip()}")
    killed = len(everything) - len(survivors)
    console.print(f"{options.module}: {killed} of {len(everything)} killed")


if __name__ == "__main__":
    main()
