"""Loads the words by which answers in whole sentences are read; nothing happens on import."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from bot.errors import WordsError
from bot.flows.facts import Country
from bot.reference.catalogue import LANGUAGE
from bot.reference.parsed_files import parsed
from bot.reference.red_flags import common_words
from bot.reference.spoken import load_numbers
from core.answers.words import Phrases, SentenceWords


def load_sentences(
    countries: Mapping[str, Country],
    spoken: Mapping[str, Mapping[str, str]],
    folder: Path = LANGUAGE,
) -> SentenceWords:
    """The words of ``words/sentences.yaml``, with names of countries, conditions and medicines.

    Args:
        countries: of :func:`bot.reference.spoken.load_countries`.
        spoken: of :func:`bot.reference.spoken.load_spoken`.

    Raises:
        WordsError: a part of sentences.yaml is missing.
    """
    own, towns = _yaml(folder / "words/sentences.yaml"), _yaml(folder / "words/towns.yaml")
    names = {code: [country.name, *country.also] for code, country in countries.items()}
    codes = dict.fromkeys([*names, *towns])
    try:
        return SentenceWords.from_yaml(
            own,
            load_numbers(folder),
            conditions=_by_code(spoken["condition"]),
            medicines=_by_code(spoken["medicine"]),
            towns={code: [*names.get(code, ()), *towns.get(code, ())] for code in codes},
            common=common_words(),
        )
    except KeyError as error:
        raise WordsError(f"sentences.yaml has no {error}") from error


def load_questions(folder: Path = LANGUAGE) -> Phrases:
    """What clients ask in own words: ``words/questions.yaml``."""
    return Phrases(_yaml(folder / "words/questions.yaml"))


def load_health_news(folder: Path = LANGUAGE) -> Phrases:
    """What clients tell of their health in own words: ``words/health_news.yaml``."""
    return Phrases(_yaml(folder / "words/health_news.yaml"))


def _by_code(spoken: Mapping[str, str]) -> Mapping[str, list[str]]:
    """Code -> the ways to say it."""
    coded: dict[str, list[str]] = {}
    for said, code in spoken.items():
        coded.setdefault(code, []).append(said)
    return coded


def _yaml(path: Path) -> Mapping[str, Any]:
    return dict(parsed(path))
