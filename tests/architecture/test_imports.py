"""Arrows point one way, and each thing that touches the world has one home."""

import ast
from collections.abc import Iterable
from fnmatch import fnmatch
from functools import cache

import grimp
import pytest
from importlinter import cli

from tests.architecture.code import ROOT, dotted, full_names, modules, program
from tests.architecture.import_table import HOMES, LIBRARIES, NOT_IN_CORE, TABLES

LOUD = ("open", "print", "input", "exec", "eval")


@cache
def graph() -> grimp.ImportGraph:
    return grimp.build_graph("core", "bot", include_external_packages=True, cache_dir=None)


def allowed(module: str, homes: Iterable[str]) -> bool:
    return any(fnmatch(module, home) for home in homes)


def test_the_contracts_of_the_arrows_are_kept(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.chdir(ROOT)
    # It would switch off every logger of ours, and later tests would hear nothing.
    monkeypatch.setattr("logging.config.dictConfig", lambda _config: None)

    assert cli.lint_imports(no_cache=True) == cli.EXIT_STATUS_SUCCESS


@pytest.mark.parametrize("library", LIBRARIES)
def test_a_library_is_imported_only_where_the_table_says(library: str):
    importers = {
        one for one in graph().find_modules_that_directly_import(library) if "migrations" not in one
    }

    assert importers, "nobody imports it: take it out of the table"
    assert {one for one in importers if not allowed(one, LIBRARIES[library])} == set()


def test_tables_are_imported_only_where_the_table_says():
    importers = graph().find_modules_that_directly_import("bot.storage.tables")

    assert {one for one in importers if not allowed(one, TABLES)} == set()


@pytest.mark.parametrize(
    ("home", "importers"),
    [
        *((home, (library,)) for library, homes in LIBRARIES.items() for home in homes),
        *((home, ("bot.storage.tables",)) for home in TABLES),
    ],
)
def test_no_exception_in_the_table_has_outlived_its_reason(home: str, importers: tuple[str, ...]):
    found = graph().find_modules_that_directly_import(importers[0])

    assert any(fnmatch(one, home) for one in found)


@pytest.mark.parametrize("name", HOMES)
def test_clock_environment_and_chance_are_read_only_at_home(name: str):
    found = {
        f"{module.name}:{line}"
        for module in program()
        for line, used in full_names(module)
        if (f"{used}." if name.endswith(".") else used).startswith(name)
        and not allowed(module.name, HOMES[name])
    }

    assert found == set()


def test_core_waits_for_nothing_opens_nothing_and_tells_nobody():
    found = []
    for module in modules("core"):
        for node in ast.walk(module.tree):
            if isinstance(node, ast.Await | ast.AsyncFunctionDef | ast.AsyncFor | ast.AsyncWith):
                found.append(f"{module.name}:{node.lineno} waits")
            if isinstance(node, ast.Call) and dotted(node.func) in LOUD:
                found.append(f"{module.name}:{node.lineno} calls {dotted(node.func)}")
        for line, used in full_names(module):
            if f"{used}.".startswith(NOT_IN_CORE):
                found.append(f"{module.name}:{line} uses {used}")

    assert found == []
