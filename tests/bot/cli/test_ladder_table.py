"""The ladder command's options, rows, table and picture."""

import io
import json
from pathlib import Path

import pytest
from PIL import Image
from rich.console import Console

from bot.cli.ladder_command import LadderCommand
from bot.cli.ladder_table import (
    LadderOptionError,
    ladder_client,
    ladder_rows,
    ladder_table,
    parse_kit,
    parse_spares,
)
from core.client.client import Client, KitAtHome
from core.vocabulary import Band, Family, Sex, Spare
from tests.core.movements.people import catalogue, words


def someone(kit: str, spares: str = "", stature: float = 165.0) -> Client:
    return ladder_client(
        stature_cm=stature,
        mass_kg=70.0,
        sex=Sex.FEMALE,
        kit=parse_kit(kit),
        spares=parse_spares(spares),
    )


def test_kit_is_read_from_one_line() -> None:
    kit = parse_kit("chair:43, bench:90,table:75,step:17,bottle:1.5,band:light,wall,floor")
    assert kit == KitAtHome(
        chair=43.0, bench=90.0, table=75.0, step=17.0, bottle=1.5, band=Band.LIGHT
    )


def test_no_kit_is_none_but_wall_and_floor() -> None:
    kit = parse_kit("")
    assert kit == KitAtHome(chair=None)
    assert kit.wall
    assert kit.mat


def test_unknown_kit_is_refused_with_what_is_known() -> None:
    with pytest.raises(LadderOptionError) as refused:
        parse_kit("chair:43,sofa:40")
    assert "'sofa'" in str(refused.value)
    for key in ("chair", "bench", "table", "step", "bottle", "band", "wall", "floor"):
        assert key in str(refused.value)


@pytest.mark.parametrize("text", ["chair:tall", "chair:", "bench:900", "bottle:-1", "band:red"])
def test_values_that_make_no_sense_are_refused(text: str) -> None:
    with pytest.raises(LadderOptionError, match=text.partition(":")[0]):
        parse_kit(text)


def test_spares_are_read_and_unknown_ones_refused() -> None:
    assert parse_spares("wrist, floor") == {Spare.WRIST, Spare.FLOOR}
    with pytest.raises(LadderOptionError, match="known: knee"):
        parse_spares("feelings")


def test_rows_rise_and_rungs_that_cannot_be_done_come_last() -> None:
    rows = ladder_rows(someone("chair:43"), Family.PUSH, catalogue())
    placed = [row for row in rows if row.placeable]
    rest = rows[len(placed) :]
    assert [row.demand for row in placed] == sorted(row.demand for row in placed)
    assert rest
    assert all(row.demand is None and not row.placeable for row in rest)
    assert {"push_bench", "push_table"} <= {row.rung for row in rest}


def test_a_bench_over_the_head_is_a_row_that_says_why() -> None:
    rows = ladder_rows(someone("bench:125", stature=135.0), Family.PUSH, catalogue())
    bench = next(row for row in rows if row.rung == "push_bench")
    assert not bench.placeable
    assert bench.why_not == "surface_too_high"


def test_spared_rungs_are_left_out_altogether() -> None:
    rows = ladder_rows(someone("chair:43,bench:90", "wrist,floor"), Family.PUSH, catalogue())
    for row in rows:
        assert "wrist" not in row.stresses
        assert "floor" not in row.stresses
    assert "push_toes" not in {row.rung for row in rows}


def test_the_json_has_exactly_the_promised_keys() -> None:
    rows = ladder_rows(someone("chair:43,bottle:1.5"), Family.SQUAT, catalogue())
    printed = json.loads(json.dumps([row.as_json() for row in rows]))
    keys = {"rung", "dial", "demand", "needs", "stresses", "placeable", "hole_above"}
    assert all(set(row) == keys for row in printed)
    assert all(isinstance(row["dial"], dict) for row in printed)
    assert printed[0]["placeable"] is True
    assert printed[-1]["demand"] is None


def test_the_table_shows_every_row_with_its_name() -> None:
    rows = ladder_rows(someone("chair:43"), Family.SQUAT, catalogue())
    console = Console(width=200, record=True, file=io.StringIO())
    console.print(ladder_table(rows, words(), catalogue()))
    text = console.export_text()
    assert "Sit and stand" in text
    assert text.count("\n") >= len(rows)


@pytest.mark.parametrize("family", [Family.PUSH, Family.BALANCE])
def test_the_command_draws_the_scale_into_a_file(family: Family, tmp_path: Path) -> None:
    path = tmp_path / "scale.png"
    printed = Console(file=io.StringIO(), width=200)

    command = LadderCommand(printed, tmp_path)
    command.show(family, someone("chair:43,bench:90"), as_json=False, picture=path)

    with Image.open(path) as picture:
        assert picture.width >= 700
