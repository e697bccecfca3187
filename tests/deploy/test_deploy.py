"""What an operator copies from ``deploy`` fits the program."""

import re
from pathlib import Path

from bot.settings import Settings

DEPLOY = Path(__file__).parents[2] / "deploy"


def test_the_example_names_every_setting_and_no_other() -> None:
    example = (DEPLOY / "env.example").read_text("utf-8")

    named = set(re.findall(r"^DAYRUNG_(\w+)=", example, re.MULTILINE))

    assert named == {name.upper() for name in Settings.model_fields}


def test_the_example_states_the_defaults() -> None:
    example = (DEPLOY / "env.example").read_text("utf-8")
    stated = dict(re.findall(r"^DAYRUNG_(\w+)=(.*)$", example, re.MULTILINE))

    for name, field in Settings.model_fields.items():
        if name == "home":
            continue
        default = field.default
        written = f"{default:g}" if isinstance(default, float) else str(default)
        assert stated[name.upper()] == written, name


def test_the_unit_serves_with_a_watchdog_and_is_always_started_again() -> None:
    unit = (DEPLOY / "dayrung.service").read_text("utf-8")

    assert re.search(r"^ExecStart=.*dayrung serve$", unit, re.MULTILINE)
    for line in ("Type=notify", "Restart=always"):
        assert line in unit.splitlines()
    assert re.search(r"^WatchdogSec=\d+$", unit, re.MULTILINE)
    stop = re.search(r"^TimeoutStopSec=(\d+)$", unit, re.MULTILINE)
    assert stop is not None
    assert int(stop.group(1)) > 10


def test_the_unit_of_one_practice_among_others_differs_only_in_its_places() -> None:
    def said(name: str) -> list[str]:
        lines = (DEPLOY / name).read_text("utf-8").splitlines()
        return [one for one in lines if one and not one.startswith(("#", "Description="))]

    one, many = said("dayrung.service"), said("dayrung@.service")

    assert [line for line in one if line not in many] == [
        "EnvironmentFile=/etc/dayrung/env",
        "StateDirectory=dayrung",
    ]
    assert [line for line in many if line not in one] == [
        "EnvironmentFile=/etc/dayrung/%i.env",
        "StateDirectory=dayrung/%i",
    ]
