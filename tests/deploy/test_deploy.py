"""What an operator copies from ``deploy`` fits the program."""

import re
import subprocess
import sys
from pathlib import Path

import yaml

from bot.delivery.lane import SAID
from bot.messages import Kind
from bot.runtime import metrics
from bot.runtime.metrics import COUNTED, TIMED
from bot.settings import Settings
from core.vocabulary import AlertLevel

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


def test_every_number_in_the_alert_rules_is_one_that_the_service_tells() -> None:
    rules = yaml.safe_load((DEPLOY / "alert-rules.yaml").read_text("utf-8"))["groups"][0]["rules"]
    told = {f"{name}_total" for name, _ in COUNTED.values()}
    told |= {f"{name}_bucket" for name, _ in TIMED.values()}
    source = Path(metrics.__file__).read_text("utf-8")
    gauges = set(re.findall(r'"(dayrung_\w+)"', source))
    told |= gauges | {f"{one}_oldest_seconds" for one in gauges}
    kinds, levels = {kind.name.lower() for kind in Kind}, set(AlertLevel)
    outcomes = set(SAID.values())

    for rule in rules:
        assert set(re.findall(r"dayrung_\w+", rule["expr"])) <= told, rule["alert"]
        for label, known in (("kind", kinds), ("level", levels), ("outcome", outcomes)):
            for named in re.findall(rf'{label}=~?"([^"]+)"', rule["expr"]):
                assert set(named.split("|")) <= known, rule["alert"]
    assert len(rules) >= 8


def test_the_image_runs_without_root_and_looks_after_its_health() -> None:
    stages = (DEPLOY / "Containerfile").read_text("utf-8").split("\nFROM ")[1:]
    said = [[line for line in stage.splitlines() if not line.startswith("#")] for stage in stages]

    assert len(said) == 2
    assert "USER 10001:10001" in said[1]
    assert any(line.startswith("HEALTHCHECK") for line in said[1])
    assert "/health" in stages[1]
    assert "--require-hashes" in stages[0]


def test_containers_have_a_root_that_cannot_be_written_and_no_rights() -> None:
    services = yaml.safe_load((DEPLOY / "compose.yaml").read_text("utf-8"))["services"]
    ours = {name: one for name, one in services.items() if one["image"] == "dayrung"}

    assert len(ours) >= 3
    for name, one in ours.items():
        assert one["read_only"] is True, name
        assert one["cap_drop"] == ["ALL"], name
        assert one["security_opt"] == ["no-new-privileges:true"], name
        assert one["depends_on"] == {"database": {"condition": "service_healthy"}}, name
        named = {key.removeprefix("DAYRUNG_").lower() for key in one["environment"]}
        assert named <= set(Settings.model_fields), name
        # Longer than a stop takes (OPERATIONS.md, "Stop").
        assert int(one["stop_grace_period"].removesuffix("s")) > 10, name


def test_the_proxy_passes_one_path_on_and_keeps_the_secret_out_of_its_log() -> None:
    """A fault of the way to a service is logged with all headers unless they are taken out.

    ``python -m tests.faults.through_proxy`` runs it, where Caddy is installed.
    """
    file = (DEPLOY / "Caddyfile").read_text("utf-8")
    assert "request>headers delete" in file
    assert re.findall(r"handle (\S+)", file) == ["/telegram"]
    assert "respond 404" in file


def test_no_core_dump_is_written() -> None:
    """It would hold the key, the token and words."""
    asked = "import bot.cli.start, resource; print(resource.getrlimit(resource.RLIMIT_CORE))"
    said = subprocess.run(
        [sys.executable, "-c", asked], check=True, capture_output=True, text=True, cwd=DEPLOY.parent
    )
    assert said.stdout.strip() == "(0, 0)"
    for unit in ("dayrung.service", "dayrung@.service"):
        assert "\nLimitCORE=0\n" in (DEPLOY / unit).read_text("utf-8")
