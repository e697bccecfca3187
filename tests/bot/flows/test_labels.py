"""Every button that the code names has a label: one without cannot be shown."""

import ast
from collections.abc import Iterator

import pytest

from bot.flows.client.menu import menu_rows
from bot.flows.record.planning import Gate
from tests.architecture.code import modules
from tests.architecture.test_templates import LABELS_FROM, WORDS


def labels_of(text: str) -> set[str]:
    """The values of the buttons that a template names."""
    _, _, lines = f"\n{text}".partition(LABELS_FROM)
    return {line.partition(": ")[0].strip() for line in lines.splitlines() if ": " in line}


COMMON = labels_of((WORDS / "labels.j2").read_text(encoding="utf-8"))
ANYWHERE = {
    value for path in WORDS.rglob("*.j2") for value in labels_of(path.read_text(encoding="utf-8"))
}


def named_buttons() -> Iterator[tuple[str, str]]:
    """(module, value) of each ``Button("...")`` that brings no label of its own."""
    for module in modules("bot"):
        for node in ast.walk(module.tree):
            if not isinstance(node, ast.Call) or getattr(node.func, "id", "") != "Button":
                continue
            labelled = len(node.args) > 1 or any(word.arg == "label" for word in node.keywords)
            first = node.args[0] if node.args else None
            if isinstance(first, ast.Constant) and not labelled:
                yield module.name, str(first.value)


def test_every_button_that_the_code_names_has_a_label_somewhere():
    missing = {f"{name}: {value}" for name, value in named_buttons() if value not in ANYWHERE}

    assert missing == set()


@pytest.mark.parametrize("gate", Gate)
@pytest.mark.parametrize("test", [True, False])
def test_every_button_of_the_menu_has_a_common_label(gate: Gate, test: bool):
    values = {button.value for row in menu_rows(gate, test=test) for button in row}

    assert values - COMMON - labels_of((WORDS / "menu" / "menu.j2").read_text("utf-8")) == set()
