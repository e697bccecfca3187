"""A practice's own rungs: the files shown in DEVELOPERS.md, put where it says, join the ladder."""

import asyncio
import re
from datetime import UTC, datetime
from pathlib import Path

import pytest
from rich.console import Console

from bot.cli.ladder_command import LadderCommand
from bot.clock import ManualClock
from bot.reference.catalogue import ROOT
from bot.reference.reference import Loaded
from bot.runtime.app import App, build
from bot.settings import Settings, load_key
from bot.trial import trial
from core.client.client import Client, KitAtHome
from core.errors import CatalogueError
from core.movements.ladder import ladder
from core.vocabulary import Family
from tests.core.movements.people import client
from tests.doubles.record_channel import RecordChannel

BLOCK = re.compile(r"```yaml\n# (?P<file>\S+\.yaml)\n(?P<text>.*?)```", re.DOTALL)


@pytest.fixture
def home(tmp_path: Path) -> Path:
    shown = list(BLOCK.finditer((ROOT / "DEVELOPERS.md").read_text("utf-8")))
    assert {one["file"].split("/")[0] for one in shown} == {"movements", "movement_words"}
    for one in shown:
        path = tmp_path / one["file"]
        path.parent.mkdir(exist_ok=True)
        path.write_text(one["text"], "utf-8")
    return tmp_path


def _mary() -> Client:
    return client(kit=KitAtHome(chair=43.0, wall=True, mat=True))


def test_the_rung_of_the_developers_guide_is_in_the_running_program(home: Path) -> None:
    settings = Settings(home=home, database="", key="", telegram_token="", second_road="")
    key, _ = load_key(settings)
    channel = RecordChannel("record")
    clock = ManualClock(datetime(2026, 3, 2, tzinfo=UTC))
    app = build(settings, key, clock, lambda *_: {"record": channel}, lambda code: code)
    steps = ladder(_mary(), Family.SQUAT, app.loaded.reference.catalogue)
    assert "squat_to_bed" in {step.rung for step in steps}
    said = app.loaded.words.movement("squat_to_bed")
    assert said.name == "Sit and stand at the bed"


def test_the_trial_has_it_too_though_its_own_folder_lies_deeper(
    home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    tried: list[App] = []
    made: list[Loaded | None] = []

    async def practice(_settings: Settings, _key: bytes, loaded: Loaded, **_more: object) -> None:
        made.append(loaded)

    async def page(app: App, *_parts: object) -> None:
        tried.append(app)

    monkeypatch.setattr(trial, "make_practice", practice)
    monkeypatch.setattr(trial, "_show", page)
    settings = Settings(home=home, database="", key="", telegram_token="", second_road="")
    console = Console(quiet=True)
    asyncio.run(trial.try_out(settings, port=0, fresh=True, weeks=1, console=console))
    assert "squat_to_bed" in tried[0].loaded.reference.catalogue.by_id
    assert made == [tried[0].loaded]
    assert tried[0].settings.home == home / "trial"


def test_the_ladder_command_prints_it(home: Path) -> None:
    console = Console(record=True, width=200)
    LadderCommand(console, home).show(Family.SQUAT, _mary(), as_json=False, picture=None)
    assert "Sit and stand at the bed" in console.export_text()


def test_a_rung_without_words_is_refused_with_its_name(home: Path) -> None:
    (home / "movement_words" / "squat_extra.yaml").write_text("{}", "utf-8")
    with pytest.raises(CatalogueError, match="squat_to_bed: name: no words"):
        LadderCommand(Console(), home).show(Family.SQUAT, _mary(), as_json=False, picture=None)
