"""Each setting stands in deploy/env.example, with its default, and nothing else does."""

import re

import pytest

from bot.settings import Settings
from tests.architecture.code import ROOT

EXAMPLE = ROOT / "deploy" / "env.example"
PLACES = {"home": "the service's own data folder"}
"""Settings whose example differs from the default -> why."""


def documented() -> dict[str, str]:
    """Setting -> value in the example."""
    text = EXAMPLE.read_text(encoding="utf-8")
    lines = re.findall(r"^#? ?DAYRUNG_([A-Z_]+)=(.*)$", text, flags=re.MULTILINE)
    return {name.lower(): value for name, value in lines}


def test_the_example_names_every_setting_and_no_other():
    assert set(documented()) == set(Settings.model_fields)


@pytest.mark.parametrize("name", sorted(set(Settings.model_fields) - set(PLACES)))
def test_the_example_shows_the_default(name: str):
    default = Settings.model_fields[name].default
    shown = documented()[name]

    assert type(default)(shown) == default


@pytest.mark.parametrize("name", sorted(Settings.model_fields))
def test_a_setting_says_what_it_is_and_is_explained_in_the_example(name: str):
    assert Settings.model_fields[name].description

    lines = EXAMPLE.read_text(encoding="utf-8").splitlines()
    at = next(number for number, line in enumerate(lines) if f"DAYRUNG_{name.upper()}=" in line)
    paragraph = [line for line in lines[:at] if line.strip()][-2:]
    assert any(line.startswith("# ") for line in paragraph)
