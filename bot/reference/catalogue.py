"""Reads the movement files and their words from disk, once, for core and templates.

A coach adds her own rungs with a folder of the same two kinds of file.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import yaml

from bot.reference.parsed_files import parsed
from core.client.steering import SteeringTable
from core.client.steering_loader import steering_from
from core.errors import CatalogueError
from core.movements.catalogue import Catalogue, DialValue, Rung
from core.movements.catalogue_loader import catalogue_from

ROOT = Path(__file__).resolve().parents[2]
MOVEMENTS = ROOT / "core" / "movements"
STEERING = ROOT / "core" / "client" / "steering.yaml"
TEMPLATES = ROOT / "templates"
LANGUAGE = TEMPLATES / "en"
"""Folder of the language that the service speaks."""

SHARED_WORDS = ("dials", "cautions")
LEVEL = "level"
"""Of a dial: how a setting is said that shares its words with another one of the same rung."""
"""Word files that belong to no family."""

WORD_FIELDS = ("name", "does", "cues", "slips", "breathing", "picture_text")
CUES, SLIPS = 3, 2

OWN_MOVEMENTS, OWN_WORDS = "movements", "movement_words"
"""Folders of a practice's own rungs and their words, in its data folder."""


@dataclass(frozen=True, slots=True)
class RungWords:
    """What a client reads about one rung.

    Attributes:
        name: short and plain.
        does: one sentence, what it is good for.
        cues: three, each of at most twelve words.
        slips: two technique slips; each means stop.
        breathing: when to breathe out.
        picture_text: what the picture shows, for those who do not see it.
    """

    name: str
    does: str
    cues: tuple[str, ...]
    slips: tuple[str, ...]
    breathing: str
    picture_text: str


@dataclass(frozen=True, slots=True)
class MovementWords:
    """All words of the movements in one language.

    Attributes:
        rungs: by rung id.
        dials: how a dial setting is said, by dial, then by setting ("*" for any number, with
            ``{value}`` in it; "level" for settings that share words).
        cautions: sentences by caution code.
    """

    rungs: Mapping[str, RungWords]
    dials: Mapping[str, Mapping[str, str]]
    cautions: Mapping[str, str]


def load_catalogue(*more: Path, try_shipped: bool = False) -> Catalogue:
    """The shipped movements, and those of the folders in ``more``.

    Args:
        try_shipped: try the poses of the shipped ones on a body too. The tests do; at a start it
            would take a tenth of the reading.

    Raises:
        CatalogueError: a file is not readable as YAML, or makes no sense.
    """
    files: dict[str, Mapping[str, Any]] = {}
    for folder in (MOVEMENTS, *more):
        for path in sorted(folder.glob("*.yaml")):
            files[path.name if path.name not in files else str(path)] = _parsed(path)
    drawn = () if try_shipped else {path.name for path in MOVEMENTS.glob("*.yaml")}
    return catalogue_from(files, load_steering(), drawn=drawn)


def load_steering() -> SteeringTable:
    """The table of what facts about a client leave out, limit and prefer.

    Raises:
        CatalogueError: the file is not readable as YAML, or makes no sense.
    """
    return steering_from(_parsed(STEERING))


def load_words(catalogue: Catalogue, *more: Path) -> MovementWords:
    """The words of every rung of ``catalogue``, shipped or in the folders in ``more``.

    Raises:
        CatalogueError: a rung without words, or words of the wrong shape.
    """
    rungs: dict[str, RungWords] = {}
    shared: dict[str, Mapping[str, Any]] = {}
    for folder in (LANGUAGE / "movements", *more):
        for path in sorted(folder.glob("*.yaml")):
            content = _parsed(path)
            if path.stem in SHARED_WORDS:
                shared[path.stem] = content
                continue
            for rung, fields in content.items():
                rungs[rung] = _rung_words(path.name, rung, fields)
    for one in catalogue:
        _must_have_words(one, rungs, shared)
    return MovementWords(rungs, shared["dials"], shared["cautions"])


def load_movements(own: Path | None = None) -> tuple[Catalogue, MovementWords]:
    """Rungs and words: the shipped ones, and those of the practice whose data folder is ``own``.

    Raises:
        CatalogueError: a file is not readable as YAML, or makes no sense.
    """
    catalogue = load_catalogue(*_there(own, OWN_MOVEMENTS))
    return catalogue, load_words(catalogue, *_there(own, OWN_WORDS))


def _there(own: Path | None, name: str) -> tuple[Path, ...]:
    return (own / name,) if own is not None and (own / name).is_dir() else ()


def say_setting(words: MovementWords, rung: Rung, setting: Mapping[str, DialValue]) -> list[str]:
    """How each turned dial is said, in dial order: "slowly", "on a firm cushion of 4 cm"."""
    return [say_dial(words, rung, dial, value) for dial, value in setting.items()]


def say_dial(words: MovementWords, rung: Rung, dial: str, value: DialValue) -> str:
    """One setting in plain words; where the rung has finer steps than words, with its level.

    Numbers without words of their own are said like the nearest one that has some; "level 3 of 9"
    then tells two neighbours apart, and the picture shows which is meant.

    Raises:
        KeyError: the dial or the word has no words.
    """
    said = words.dials[dial]
    if isinstance(value, str):
        return said[value]
    phrase = _phrase(said, value)
    same = [one for one in rung.dials.get(dial, ()) if not isinstance(one, str)]
    if sum(_phrase(said, one) == phrase for one in same) < 2:
        return phrase
    levels = sorted(set(same))
    return said[LEVEL].format(phrase=phrase, level=levels.index(value) + 1, of=len(levels))


def _phrase(said: Mapping[str, str], value: float) -> str:
    exact = said.get(str(float(value))) or said.get("*")
    if exact is not None:
        return exact.format(value=f"{value:g}")
    listed = (key for key in said if key != LEVEL)
    # Of two that are equally near the smaller: it promises less.
    return said[min(listed, key=lambda key: (abs(float(key) - value), float(key)))]


def _parsed(path: Path) -> Mapping[str, Any]:
    try:
        content = parsed(path)
    except yaml.YAMLError as error:
        raise CatalogueError(f"{path.name}: not readable as YAML: {error}") from error
    if not isinstance(content, Mapping):
        raise CatalogueError(f"{path.name}: must be a mapping")
    return content


def _rung_words(file: str, rung: str, fields: object) -> RungWords:
    if not isinstance(fields, Mapping):
        raise CatalogueError(f"{file}: {rung}: must be a mapping")
    for field in WORD_FIELDS:
        if field not in fields:
            raise CatalogueError(f"{file}: {rung}: {field}: is missing")
    for field in fields:
        if field not in WORD_FIELDS:
            raise CatalogueError(f"{file}: {rung}: {field}: unknown")
    for field, count in (("cues", CUES), ("slips", SLIPS)):
        lines = fields[field]
        if not isinstance(lines, list) or len(lines) != count:
            raise CatalogueError(f"{file}: {rung}: {field}: must be a list of {count}")
    return RungWords(
        name=str(fields["name"]),
        does=str(fields["does"]),
        cues=tuple(map(str, fields["cues"])),
        slips=tuple(map(str, fields["slips"])),
        breathing=str(fields["breathing"]),
        picture_text=str(fields["picture_text"]),
    )


def _must_have_words(
    rung: Rung, rungs: Mapping[str, RungWords], shared: Mapping[str, Mapping[str, Any]]
) -> None:
    where = f"words of {rung.family}: {rung.id}"
    if rung.id not in rungs:
        raise CatalogueError(f"{where}: name: no words for this rung")
    for dial, values in rung.dials.items():
        said = shared.get("dials", {}).get(dial, {})
        for value in values:
            worded = value in said if isinstance(value, str) else bool(set(said) & {"*", LEVEL})
            if not worded:
                raise CatalogueError(f"{where}: dials.{dial}: no words for {value}")
    for caution in rung.cautions:
        if caution not in shared.get("cautions", {}):
            raise CatalogueError(f"{where}: cautions: no words for {caution}")
