"""Contrast of the trial page, computed from its style sheet (WCAG 2.2, 1.4.3 and 1.4.6)."""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

SHEET = Path(__file__).parents[4] / "templates" / "page" / "page.css"
ENOUGH = 4.5
ENOUGH_FOR_ALERTS = 7.0
LOUD = ("alert", "safety", "loud", "trouble", "lost")
SMALLEST_TEXT = 18
SMALLEST_TARGET = 48


@dataclass(frozen=True)
class Rule:
    """One rule of the sheet."""

    selector: str
    declared: dict[str, str]


def rules() -> list[Rule]:
    """All rules, those inside media queries too."""
    sheet = re.sub(r"/\*.*?\*/", "", SHEET.read_text(encoding="utf-8"), flags=re.DOTALL)
    found = []
    for selector, body in re.findall(r"([^{}]+)\{([^{}]*)\}", sheet):
        pairs = [line.split(":", 1) for line in body.split(";") if ":" in line]
        declared = {name.strip(): value.strip() for name, value in pairs}
        found.append(Rule(" ".join(selector.split()), declared))
    return found


def inks() -> dict[str, str]:
    """The named colours."""
    (root,) = [rule for rule in rules() if rule.selector == ":root"]
    return {name: value for name, value in root.declared.items() if value.startswith("#")}


def colour(value: str) -> tuple[float, float, float]:
    """Red, green and blue, 0..1, of ``#rrggbb`` or ``var(--name)``."""
    named = re.fullmatch(r"var\((--[a-z-]+)\)", value)
    code = inks()[named.group(1)] if named else value
    assert re.fullmatch(r"#[0-9a-f]{6}", code), value
    red, green, blue = (int(code[at : at + 2], 16) / 255 for at in (1, 3, 5))
    return red, green, blue


def luminance(rgb: tuple[float, float, float]) -> float:
    """Relative luminance (WCAG 2.2)."""
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in rgb]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    """Contrast ratio (WCAG 2.2)."""
    light, dark = sorted((luminance(colour(one)), luminance(colour(other))), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def coloured() -> Iterator[Rule]:
    for rule in rules():
        if "color" in rule.declared:
            yield rule


def test_the_measure_gives_the_known_ratios() -> None:
    # WCAG 2.2: black on white is 21:1; #767676 on white is the lightest grey that passes 4.5.
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.01)
    assert contrast("#777777", "#ffffff") < ENOUGH


def test_each_rule_that_sets_a_colour_sets_its_ground() -> None:
    for rule in coloured():
        assert "background-color" in rule.declared, rule.selector


def test_no_rule_sets_a_ground_without_a_colour_or_any_other_way() -> None:
    for rule in rules():
        assert "background" not in rule.declared, rule.selector
        assert "opacity" not in rule.declared, rule.selector
        if "background-color" in rule.declared:
            assert "color" in rule.declared, rule.selector


@pytest.mark.parametrize("rule", list(coloured()), ids=lambda rule: rule.selector)
def test_text_stands_out_enough(rule: Rule) -> None:
    ratio = contrast(rule.declared["color"], rule.declared["background-color"])
    wanted = ENOUGH_FOR_ALERTS if any(word in rule.selector for word in LOUD) else ENOUGH
    assert ratio >= wanted, f"{rule.selector}: {ratio:.2f}"


def test_frames_of_buttons_and_fields_stand_out_from_their_ground() -> None:
    # WCAG 2.2, 1.4.11: 3:1 for what shows where a control is.
    for ground in ("var(--sheet)", "var(--paper)"):
        assert contrast("var(--rule)", ground) >= 3


def test_no_text_is_smaller_than_18_px() -> None:
    (root,) = [rule for rule in rules() if rule.selector == "html"]
    base = 16 * float(root.declared["font-size"].rstrip("%")) / 100
    assert base >= SMALLEST_TEXT
    for rule in rules():
        for name in ("font", "font-size"):
            for size in re.findall(r"([\d.]+)rem", rule.declared.get(name, "")):
                assert float(size) * base >= SMALLEST_TEXT, rule.selector
            assert "px" not in rule.declared.get(name, ""), rule.selector


def test_whatever_is_pressed_is_at_least_48_px_high() -> None:
    heights = {
        rule.selector: int(rule.declared["min-height"].removesuffix("px"))
        for rule in rules()
        if rule.declared.get("min-height", "").endswith("px")
    }
    assert heights["button, select, textarea"] >= SMALLEST_TARGET
    assert min(heights.values()) >= SMALLEST_TARGET


def test_the_sheet_loads_nothing_from_elsewhere() -> None:
    text = SHEET.read_text(encoding="utf-8")
    assert "url(" not in text
    assert "@import" not in text


def test_movement_is_only_for_those_who_did_not_ask_for_less() -> None:
    text = SHEET.read_text(encoding="utf-8")
    outside = text.split("@media (prefers-reduced-motion: no-preference)")[0]
    assert "animation" not in outside
    assert "transition" not in text
