"""Loads what flows know of countries, towns and typed words; nothing happens on import.

Country names and time zones come from the public time-zone data (package ``tzdata``); numbers to
call from ``templates/<language>/countries.yaml``, typed words from ``names.yaml`` and ``words/``
there.
"""

import re
from collections.abc import Iterator, Mapping
from datetime import UTC, datetime
from importlib.resources import files
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from bot.errors import WordsError
from bot.flows.facts import Country
from bot.flows.parsing import plain_words
from bot.flows.place_words import PlaceWords
from bot.flows.safety.answers import AnswerWords
from bot.flows.typed_words import DateOrder, TypedWords
from bot.flows.walk_words import WalkWords
from bot.flows.wishes import WishWords
from bot.reference.catalogue import LANGUAGE
from bot.reference.parsed_files import parsed
from core.number_words import NumberWords

SAME_CLOCK_AT = tuple(
    datetime(year, month, 1, tzinfo=UTC) for year in (2026, 2027) for month in range(1, 13)
)
"""Zones of one country that agree at all of these moments are one choice."""


def load_countries(folder: Path = LANGUAGE) -> Mapping[str, Country]:
    """All countries by code; those of countries.yaml first, with their numbers to call.

    Raises:
        WordsError: an entry of countries.yaml is wrong.
    """
    known = _yaml(folder / "countries.yaml")
    names = dict(_table("iso3166.tab"))
    zones = _zones()
    countries = {code: _country(code, entry, zones.get(code, ())) for code, entry in known.items()}
    for code, name in names.items():
        # A land without a time zone is one where nobody lives.
        if code not in countries and code in zones:
            countries[code] = Country(code, name, zones=_different(zones[code]))
    return countries


def load_towns(countries: Mapping[str, Country]) -> Mapping[str, str]:
    """Time zone by town, in plain small letters; the towns that name zones, and our own."""
    towns = {}
    for zones in _zones().values():
        towns.update({plain_words(town): zone for town, zone in zones})
    for country in countries.values():
        for names, zone in country.zones:
            towns.update({plain_words(town): zone for town in names.split(" or ")})
    return towns


def load_spoken(folder: Path = LANGUAGE) -> Mapping[str, Mapping[str, str]]:
    """What may be typed for each code, by group of names.yaml: group -> plain words -> code."""
    spoken: dict[str, dict[str, str]] = {}
    for group, entries in _yaml(folder / "names.yaml").items():
        spoken[group] = {}
        for code, entry in entries.items():
            for said in _ways_to_say(code, entry):
                spoken[group].setdefault(plain_words(said), str(code))
    return spoken


def load_answers(folder: Path = LANGUAGE) -> Mapping[str, Mapping[str, str]]:
    """What may be typed in place of a button: question -> plain words -> the button's value.

    Raises:
        WordsError: an entry is no text (a bare "no"), or means two things in one question.
    """
    answers: dict[str, dict[str, str]] = {}
    for question, values in _yaml(folder / "words/answers.yaml").items():
        meant = answers.setdefault(str(question), {})
        for value, ways in values.items():
            for said in (value, *ways):
                if not isinstance(said, str):
                    raise WordsError(f"answers.yaml, {question}: {said!r} must stand in quotes")
            for said in ways:
                if meant.setdefault(plain_words(said), value) != value:
                    raise WordsError(f"answers.yaml, {question}: {said!r} means two things")
    return answers


def load_numbers(folder: Path = LANGUAGE) -> NumberWords:
    """The number words.

    Raises:
        WordsError: a part of numbers.yaml is missing.
    """
    try:
        return NumberWords.from_yaml(_yaml(folder / "words/numbers.yaml"))
    except KeyError as error:
        raise WordsError(f"numbers.yaml has no {error}") from error


def load_typed_words(folder: Path = LANGUAGE) -> TypedWords:
    """The words in typed times, dates, sizes and lists.

    Raises:
        WordsError: a list of typed.yaml is missing.
    """
    numbers = load_numbers(folder)
    try:
        return TypedWords.from_yaml(_yaml(folder / "words/typed.yaml"), numbers)
    except KeyError as error:
        raise WordsError(f"typed.yaml has no {error}") from error


def load_wishes(folder: Path = LANGUAGE) -> WishWords:
    """How clients ask for a movement to be changed."""
    return WishWords.from_yaml({**_yaml(folder / "wishes.yaml")})


def load_walks(folder: Path = LANGUAGE) -> WalkWords:
    """How clients tell of a walk."""
    return WalkWords.from_yaml({**_yaml(folder / "words/walks.yaml")})


def load_places(folder: Path = LANGUAGE) -> PlaceWords:
    """How places and parts of the body are told.

    Raises:
        WordsError: an entry of places.yaml is missing or no regular expression.
    """
    try:
        return PlaceWords.from_yaml(_yaml(folder / "words/places.yaml"))
    except (KeyError, re.error) as error:
        raise WordsError(f"places.yaml: {error}") from error


def load_safety_answers(folder: Path = LANGUAGE) -> AnswerWords:
    """What is typed to the questions about a warning sign: group -> plain words."""
    groups = _yaml(folder / "words/safety_answers.yaml")
    return {
        name: frozenset(plain_words(str(said)) for said in entries)
        for name, entries in groups.items()
    }


def _ways_to_say(code: str, entry: Any) -> Iterator[str]:
    if not isinstance(entry, Mapping):
        yield str(entry)
        return
    yield entry["label"]
    yield from (str(said) for said in entry.get("also", ()))
    if "full" in entry:
        yield entry["full"]
    yield str(code).replace("_", " ")


def _country(code: str, entry: Any, zones: tuple[tuple[str, str], ...]) -> Country:
    try:
        own = tuple((str(town), str(zone)) for town, zone in entry.get("zones", ()))
        for _town, zone in own:
            ZoneInfo(zone)
        return Country(
            code=code,
            name=entry["name"],
            emergency=str(entry.get("emergency", "")),
            health_line=str(entry.get("health_line", "")),
            crisis_lines=tuple(str(line) for line in entry.get("crisis_lines", ())),
            zones=own or _different(zones),
            mainland=str(entry.get("mainland", "")),
            units=entry.get("units", "metric"),
            glucose_unit=entry.get("glucose", "mmol/L"),
            dates=DateOrder(entry.get("dates", DateOrder.OPEN)),
            also=tuple(entry.get("also", ())),
            common=bool(entry.get("common", False)),
        )
    except (KeyError, ValueError, TypeError, AttributeError) as error:
        raise WordsError(f"countries.yaml, {code}: {error!r}") from error


def _different(zones: tuple[tuple[str, str], ...]) -> tuple[tuple[str, str], ...]:
    """The zones without those whose clocks agree with an earlier one."""
    seen: dict[tuple[Any, ...], tuple[str, str]] = {}
    for town, zone in zones:
        clock = tuple(moment.astimezone(ZoneInfo(zone)).utcoffset() for moment in SAME_CLOCK_AT)
        seen.setdefault(clock, (town, zone))
    return tuple(seen.values())


def _zones() -> Mapping[str, tuple[tuple[str, str], ...]]:
    """(town, zone) by country code, in the order of the table."""
    found: dict[str, tuple[tuple[str, str], ...]] = {}
    for code, _place, zone, *_comment in _table("zone.tab"):
        town = zone.rpartition("/")[2].replace("_", " ")
        found[code] = (*found.get(code, ()), (town, zone))
    return found


def _table(name: str) -> Iterator[list[str]]:
    text = (files("tzdata.zoneinfo") / name).read_text(encoding="utf-8")
    for line in text.splitlines():
        if line and not line.startswith("#"):
            yield line.split("\t")


def _yaml(path: Path) -> Mapping[str, Any]:
    try:
        loaded = parsed(path)
    except OSError as error:
        raise WordsError(f"{path.name} is missing") from error
    if not isinstance(loaded, Mapping):
        raise WordsError(f"{path.name} must hold a mapping")
    return loaded
