"""A reason made without numbers can be said without them: else its message is an apology."""

import ast

import pytest

from core.dose.prescription import DoseCode
from tests.architecture.code import dotted, modules
from tests.support.talk import words


def _codes_in(made: ast.expr) -> set[DoseCode]:
    named = [one for one in ast.walk(made) if isinstance(one, ast.Attribute)]
    return {DoseCode[one.attr] for one in named if dotted(one.value) == "DoseCode"}


def _bare() -> set[DoseCode]:
    """The codes of which a reason is made somewhere with nothing beside it."""
    return {
        code
        for package in ("core", "bot")
        for module in modules(package)
        for call in ast.walk(module.tree)
        if isinstance(call, ast.Call) and dotted(call.func) == "DoseReason"
        if len(call.args) == 1 and not call.keywords
        for code in _codes_in(call.args[0])
    }


@pytest.mark.parametrize("group", ["dose", "dose_coach"])
def test_every_reason_that_is_made_without_numbers_has_words_without_them(group: str) -> None:
    bare = _bare()
    assert len(bare) > 20
    for code in bare:
        assert words().reason(group, code.value, {}), code
