"""Scenes for tests: every rung of the shipped catalogue, on bodies of many sizes."""

from collections.abc import Iterator
from functools import cache

from core.client.client import KitAtHome
from core.figure.composition import Figure, drawn
from core.figure.people import LOOKS
from core.figure.scene import Scene
from core.figure.stage import skeletons_of
from core.mechanics.body import Body
from core.movements.catalogue import Rung, Setting
from core.movements.dials import settings_of
from core.vocabulary import Band, Sex
from tests.support.loaded import catalogue

CATALOGUE = catalogue()
KIT = KitAtHome(
    chair=43.0, bench=90.0, table=75.0, step=18.0, bottle=1.5, band=Band.MEDIUM, wall=True
)
BODIES = (
    Body(Sex.FEMALE, 1.62, 72.0),
    Body(Sex.MALE, 1.93, 95.0),
    Body(Sex.FEMALE, 1.46, 50.0),
    Body(Sex.MALE, 1.74, 110.0),
)
SHAPING = ("cushion", "range", "distance", "step", "stretch", "soft", "support", "stance")
"""Dials that change where joints or props are."""


def scene(
    rung: str,
    setting: Setting = (),
    body: Body = BODIES[0],
    look: str = "rosa",
    kit: KitAtHome = KIT,
) -> Scene:
    """A scene of a rung by its id."""
    return Scene(CATALOGUE.by_id[rung], setting, body, kit, LOOKS[look])


def start_and_end(one: Scene) -> tuple[Figure, Figure]:
    """The drawn start and end of a scene."""
    bones, refused = skeletons_of(one, 2)
    assert not refused
    return drawn(bones[0], one.look), drawn(bones[-1], one.look)


@cache
def plain(rung: str) -> tuple[Figure, Figure]:
    """The drawn start and end of a rung as it is, on an ordinary body; drawn once."""
    return start_and_end(scene(rung))


def shaping_settings(rung: Rung) -> list[Setting]:
    """The settings of a rung that look different, the plain one first."""
    found: dict[Setting, None] = {(): None}
    for setting in settings_of(rung, KIT):
        found[tuple(pair for pair in setting if pair[0] in SHAPING)] = None
    return list(found)


def all_scenes(rung: Rung) -> Iterator[Scene]:
    """The plain rung on every body, every other setting on one body, in turn."""
    looks = list(LOOKS.values())
    for k, setting in enumerate(shaping_settings(rung)):
        bodies = BODIES if k == 0 else (BODIES[k % len(BODIES)],)
        for body in bodies:
            yield Scene(rung, setting, body, KIT, looks[k % len(looks)])
