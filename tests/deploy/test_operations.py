"""OPERATIONS.md names what there is, quotes what is said, and its steps work."""

import os
import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from cryptography.fernet import Fernet
from typer.main import get_command

from bot.cli.commands import app
from bot.settings import Settings
from tests.architecture.code import ROOT
from tests.doubles.bot_api import BotApi
from tests.doubles.serve_process import Service

DEPLOY = ROOT / "deploy"
PAGE = (DEPLOY / "OPERATIONS.md").read_text("utf-8")
FLAT = " ".join(PAGE.split())
STRANGER, ANOTHER = 4001, 4002


def _quoted() -> Iterator[str]:
    yield from re.findall(r'"([^"]+)"', FLAT)


def _program() -> str:
    """All texts of the program, with string parts that stand on two lines put together."""
    sources = [path.read_text("utf-8") for path in (ROOT / "bot").rglob("*.py")]
    return re.sub(r'"\s+"', "", "\n".join(sources))


def test_every_command_it_names_is_one() -> None:
    named = set(re.findall(r"(?:^|[ `/])dayrung ([a-z][a-z-]+)", PAGE, re.MULTILINE))
    commands = set(get_command(app).commands)  # type: ignore[attr-defined]  # a group of commands

    assert {"init", "serve", "check", "invite-coach"} <= named
    # "enable --now dayrung" and the like name the service.
    assert named <= commands


def test_every_setting_it_names_is_one() -> None:
    named = set(re.findall(r"DAYRUNG_([A-Z_]+)", PAGE)) - {"PYTHON"}

    assert {name.lower() for name in named} <= set(Settings.model_fields)
    assert "DAYRUNG_PYTHON" in (DEPLOY / "backup.sh").read_text("utf-8")


def test_every_file_it_names_is_there() -> None:
    named = set(re.findall(r"deploy/[A-Za-z@.-]+[a-z]", PAGE))

    assert len(named) >= 5
    assert all((ROOT / name).exists() for name in named)


def test_everything_it_quotes_is_said_by_the_program() -> None:
    program = _program()

    missing = [words for words in _quoted() if words not in program]
    assert missing == []
    assert len(list(_quoted())) >= 8


def test_the_kill_command_is_one() -> None:
    command = re.search(r"python -m (tests\.faults\.kills) --kills 200", PAGE)
    assert command is not None

    done = subprocess.run(
        [sys.executable, "-m", command.group(1), "--help"],
        capture_output=True,
        text=True,
        cwd=ROOT,
        check=True,
    )
    assert "--kills" in done.stdout


@pytest.mark.parametrize(
    "topic",
    [
        "Start",
        "With a webhook",
        "Stop",
        "One service at a time, and a hot standby",
        "Several practices",
        "In containers",
        "Watch it",
        "What is proven, and what is not",
        "Back up and restore",
        "Upgrade",
        "How long what is kept",
        "When the token leaks",
        "When the key leaks",
    ],
)
def test_each_topic_has_its_part(topic: str) -> None:
    assert f"\n## {topic}\n" in PAGE


def test_it_says_in_one_place_what_is_proven_and_what_is_not() -> None:
    _, _, part = PAGE.partition("\n## What is proven, and what is not\n")
    part = " ".join(part.partition("\n## ")[0].split())

    assert "SIGKILL proves crashes of the process, not loss of power." in part
    assert "Not proven" in part
    # Nowhere else.
    assert FLAT.count("SIGKILL proves") == 1


def _run(script: str, *given: Path) -> None:
    subprocess.run(
        ["sh", DEPLOY / script, *given],
        check=True,
        env={**os.environ, "DAYRUNG_PYTHON": sys.executable},
    )


async def test_a_backup_beside_the_running_service_starts_elsewhere_with_its_key_only(
    tmp_path: Path,
) -> None:
    home, back, backup = tmp_path / "home", tmp_path / "back", tmp_path / "backup.tar.gz"
    home.mkdir()
    async with BotApi() as api:
        fresh = Service(home, api.address, DAYRUNG_KEY="")
        await fresh.start("init")
        assert await fresh.ended() == 0
        assert "A key was made" in fresh.log
        async with Service(home, api.address, DAYRUNG_KEY="") as service:
            await api.until(lambda: bool(api.methods.commands), 40)
            api.say(STRANGER, "Good morning")
            await api.until(lambda: bool(api.chat(STRANGER).said), 20)
            _run("backup.sh", home, backup)
            assert await service.stop() == 0

        _run("restore.sh", backup, back)
        async with Service(back, api.address, DAYRUNG_KEY="") as service:
            api.say(ANOTHER, "Good morning")
            await api.until(lambda: bool(api.chat(ANOTHER).said), 40)
        # What had been answered before is not answered again.
        assert len(api.chat(STRANGER).said) == 1

        # With another key it says so, and works in nothing.
        wrong = Service(back, api.address, DAYRUNG_KEY=Fernet.generate_key().decode())
        async with wrong:
            await wrong.until_it_says("The key is not the one that the records were sealed with")
            assert await wrong.stop() == 0
