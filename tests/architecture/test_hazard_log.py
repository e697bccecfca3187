"""The hazard log names only tests that exist, and covers what it must."""

import ast
import re
from functools import cache
from pathlib import Path

ROOT = Path(__file__).parents[2]
LOG = ROOT / "deploy" / "SAFETY.md"
FEWEST_HAZARDS = 30


def rows() -> list[list[str]]:
    """The cells of each hazard."""
    lines = [line for line in LOG.read_text("utf-8").splitlines() if line.startswith("| ")]
    return [[cell.strip() for cell in line.strip("|").split("|")] for line in lines[1:]]


def named_tests() -> list[str]:
    return sorted({name for row in rows() for name in re.findall(r"`(tests/[^`]+)`", row[-1])})


@cache
def functions_in(path: str) -> frozenset[str]:
    tree = ast.parse((ROOT / path).read_text("utf-8"))
    functions = (ast.FunctionDef, ast.AsyncFunctionDef)
    return frozenset(node.name for node in ast.walk(tree) if isinstance(node, functions))


def test_a_named_test_exists():
    for name in named_tests():
        path, _, function = name.partition("::")
        assert (ROOT / path).is_file(), path
        assert function.startswith("test_")
        assert function in functions_in(path), name


def test_each_hazard_has_a_cause_a_control_and_a_test():
    assert len(rows()) >= FEWEST_HAZARDS
    for hazard, cause, control, shown in rows():
        assert hazard
        assert cause
        assert control
        assert "::test_" in shown, hazard
