"""Data that never changes while the program runs: loaded once, handed to everything."""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from bot.flows.facts import Reference
from bot.flows.parsing import plain_words
from bot.invitation_codes import new_code
from bot.reference.catalogue import LANGUAGE, load_movements
from bot.reference.movement_words import Movements
from bot.reference.parsed_files import parsed
from bot.reference.red_flags import load_reader, load_signs
from bot.reference.sentences import load_health_news, load_questions, load_sentences
from bot.reference.spoken import (
    load_answers,
    load_countries,
    load_places,
    load_safety_answers,
    load_spoken,
    load_towns,
    load_typed_words,
    load_walks,
    load_wishes,
)
from bot.reference.words import Words
from core.red_flags.reader import Reader


@dataclass(frozen=True, slots=True)
class Loaded:
    """Everything that is read from files at the start."""

    reference: Reference
    words: Words
    reader: Reader


def load_all(invitation_link: Callable[[str], str], own: Path | None = None) -> Loaded:
    """Read all data files.

    Args:
        invitation_link: turns an invitation's code into an address to tap, or "".
        own: data folder of the practice; its own rungs are read too where it has any.

    Raises:
        CatalogueError: a movement or word file makes no sense.
    """
    catalogue, words = load_movements(own)
    movements = Movements(catalogue, words)
    said = Words(movements)
    spoken = parsed(LANGUAGE / "commands.yaml")
    countries, by_group = load_countries(), load_spoken()
    reference = Reference(
        catalogue=catalogue,
        signs=load_signs(),
        countries=countries,
        zones_by_town=load_towns(countries),
        words=load_typed_words(),
        sentences=load_sentences(countries, by_group),
        questions=load_questions(),
        health_news=load_health_news(),
        commands={plain_words(said): name for name, ways in spoken.items() for said in ways},
        spoken=by_group,
        answers=load_answers(),
        wishes=load_wishes(),
        walks=load_walks(),
        places=load_places(),
        safety_answers=load_safety_answers(),
        who_left=str(said.word("phrases", "who_left")),
        new_code=new_code,
        invitation_link=invitation_link,
    )
    return Loaded(reference, said, load_reader())
