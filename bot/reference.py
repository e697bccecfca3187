"""Data that never changes while the program runs: loaded once, handed to everything."""

from collections.abc import Callable
from dataclasses import dataclass

import yaml

from bot.catalogue_data import load_catalogue, load_words
from bot.flows.facts import Reference
from bot.joining import new_code
from bot.movement_words import Movements
from bot.red_flag_data import load_reader, load_signs
from bot.reference_data import load_countries, load_spoken, load_towns
from bot.words import TEMPLATES, Words
from core.red_flags.reader import Reader


@dataclass(frozen=True, slots=True)
class Loaded:
    """Everything that is read from files at the start."""

    reference: Reference
    words: Words
    reader: Reader


def load_all(invitation_link: Callable[[str], str]) -> Loaded:
    """Read all data files.

    Args:
        invitation_link: turns an invitation's code into an address to tap, or "".
    """
    catalogue = load_catalogue()
    movements = Movements(catalogue, load_words(catalogue))
    spoken = yaml.safe_load((TEMPLATES / "en" / "commands.yaml").read_text(encoding="utf-8"))
    reference = Reference(
        catalogue=catalogue,
        signs=load_signs(),
        countries=load_countries(),
        zones_by_town=load_towns(),
        commands={said: name for name, ways in spoken.items() for said in ways},
        spoken=load_spoken(),
        new_code=new_code,
        invitation_link=invitation_link,
    )
    return Loaded(reference, Words(movements), load_reader())
