"""``dayrung ladder``: one family's ladder for a body and a kit, as a table, JSON or pictures."""

import json
from dataclasses import dataclass
from pathlib import Path

from rich.console import Console
from rich.progress import Progress

from bot.cli.ladder_table import ladder_rows, ladder_table
from bot.errors import SettingsError
from bot.pictures.scenes import scene_of, scenes_of_all
from bot.pictures.sheets import Captioned, ScaleStep, contact_sheet, demand_scale_picture
from bot.reference.catalogue import MovementWords, load_movements
from bot.reference.movement_words import Movements
from core.client.client import Client
from core.movements.catalogue import Catalogue
from core.movements.ladder import ladder
from core.vocabulary import Family

ENDS = ("easier", "harder")


@dataclass(frozen=True, slots=True)
class LadderCommand:
    """Where to print, and the data folder of the practice, for its own rungs."""

    console: Console
    own: Path | None = None

    def show(self, family: Family, client: Client, *, as_json: bool, picture: Path | None) -> None:
        """Print the ladder; with ``picture`` also draw its scale.

        Raises:
            SettingsError: there is nothing to draw, or the file cannot be written.
        """
        catalogue, words = load_movements(self.own)
        rows = ladder_rows(client, family, catalogue)
        if as_json:
            self.console.print_json(json.dumps([row.as_json() for row in rows]))
        else:
            self.console.print(ladder_table(rows, words, catalogue))
        if picture is not None:
            _write(picture, _scale(family, client, catalogue, words))

    def sheet(self, file: Path) -> None:
        """Draw every rung at its plain setting.

        Raises:
            SettingsError: the file cannot be written.
        """
        catalogue, words = load_movements(self.own)
        scenes = scenes_of_all(catalogue)
        captioned = [Captioned(scene, words.rungs[scene.rung.id].name) for scene in scenes]
        with Progress(console=Console(stderr=True)) as progress:
            task = progress.add_task("drawing", total=len(captioned))
            content = contact_sheet(
                captioned, lambda done, _total: progress.update(task, completed=done)
            )
        _write(file, content)


def _scale(family: Family, client: Client, catalogue: Catalogue, words: MovementWords) -> bytes:
    movements = Movements(catalogue, words)
    steps = [
        ScaleStep(
            scene_of(step.key, client, family, catalogue),
            movements.spoken(step.rung, step.setting).name,
            step.demand,
            step.hole_above is not None,
        )
        for step in ladder(client, family, catalogue)
    ]
    if not steps:
        raise SettingsError(f"This body and kit allow no rung of {family.value}: nothing to draw.")
    return demand_scale_picture(steps, family.value.replace("_", " "), ENDS)


def _write(file: Path, content: bytes) -> None:
    try:
        file.write_bytes(content)
    except OSError as error:
        raise SettingsError(f"The file {file} cannot be written: {error}.") from None
