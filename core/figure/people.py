"""Who is in the pictures: ordinary older people, clothed and friendly.

The same client always sees the same person in one family of movements, so that two pictures of
an easier and a harder rung differ only in what matters.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from types import MappingProxyType
from zlib import crc32


class Hair(StrEnum):
    """How the hair is worn."""

    BUN = "bun"
    BOB = "bob"
    CROP = "crop"
    CURLS = "curls"
    SIDES = "sides"
    WAVES = "waves"


@dataclass(frozen=True, slots=True)
class Look:
    """One person's looks; colours as "#rrggbb".

    Attributes:
        fullness: girth of the trunk against a slim figure; 1 is slim.
        bust: how far the chest comes forward, cm.
        sleeve: share of the upper arm that the sleeve covers; over 1 it reaches the forearm.
        beard: colour of a beard or moustache with "", or none.
    """

    name: str
    skin: str
    hair: Hair
    hair_colour: str
    top: str
    trousers: str
    shoes: str
    fullness: float = 1.0
    bust: float = 0.0
    sleeve: float = 0.72
    glasses: bool = False
    beard: str = ""
    earring: str = ""


LOOKS: Mapping[str, Look] = MappingProxyType(
    {
        look.name: look
        for look in (
            Look(
                name="rosa",
                skin="#dca07c",
                hair=Hair.BOB,
                hair_colour="#b9b4b2",
                top="#8e4a7d",
                trousers="#3c4257",
                shoes="#4a5a9a",
                fullness=1.22,
                bust=2.6,
                glasses=True,
            ),
            Look(
                name="arthur",
                skin="#f0c3a3",
                hair=Hair.SIDES,
                hair_colour="#cfccc7",
                top="#3f76a8",
                trousers="#4b4f58",
                shoes="#7a5238",
                fullness=1.14,
                beard="#cfccc7",
                sleeve=0.78,
            ),
            Look(
                name="grace",
                skin="#7d4f37",
                hair=Hair.CURLS,
                hair_colour="#a7a3a3",
                top="#e0a02f",
                trousers="#46405e",
                shoes="#8e3b52",
                fullness=1.08,
                bust=2.0,
                earring="#f3d277",
            ),
            Look(
                name="kenji",
                skin="#e5b98f",
                hair=Hair.CROP,
                hair_colour="#8f9094",
                top="#4f8a5b",
                trousers="#4d4a45",
                shoes="#39424e",
                fullness=1.0,
                glasses=True,
            ),
            Look(
                name="ingrid",
                skin="#f3cdb3",
                hair=Hair.BUN,
                hair_colour="#c6c3bd",
                top="#c4566a",
                trousers="#37506b",
                shoes="#2f7d78",
                fullness=1.03,
                bust=1.8,
                sleeve=0.9,
            ),
            Look(
                name="samuel",
                skin="#5f3d2c",
                hair=Hair.CROP,
                hair_colour="#c9c6c3",
                top="#5fa3a0",
                trousers="#3a3f4e",
                shoes="#a35a34",
                fullness=1.2,
                beard="#c9c6c3",
            ),
            Look(
                name="leila",
                skin="#c98d62",
                hair=Hair.WAVES,
                hair_colour="#6f6a6c",
                top="#5a6fb3",
                trousers="#4a4152",
                shoes="#b0583f",
                fullness=1.12,
                bust=2.2,
                sleeve=1.35,
            ),
        )
    }
)


def look_for(person: str, family: str = "") -> Look:
    """The look that stands for a person (any text) in a family; always the same one."""
    names = tuple(LOOKS)
    return LOOKS[names[crc32(f"{person}/{family}".encode()) % len(names)]]
