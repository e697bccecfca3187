"""Holes in ladders, over bodies and what may be at home."""

import itertools
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from datetime import date
from unittest.mock import patch

from core.client.client import Client, KitAtHome, Limits
from core.client.steering import steering_of
from core.mechanics.body import Body
from core.movements.catalogue import Catalogue, Rung
from core.movements.demand import UNWEIGHED, Weighed, weigh
from core.movements.dials import NOT_BARRED, Barred
from core.movements.ladder import ladder
from core.vocabulary import Band, Family, Sex

PEOPLE = [
    (Sex.FEMALE, 150.0, 45.0),
    (Sex.MALE, 190.0, 130.0),
    (Sex.FEMALE, 165.0, 105.0),
    (Sex.FEMALE, 162.0, 68.0),
    (Sex.MALE, 175.0, 82.0),
    (Sex.MALE, 168.0, 60.0),
]
"""Sex, cm, kg: small and light, tall and heavy, short and heavy, and three between."""

TODAY = date(2026, 3, 2)

# Chair, bench, table and step, cm.
HEIGHTS = [(43.0, 90.0, 75.0, 17.0), (40.0, 85.0, 70.0, 12.0), (46.0, 95.0, 78.0, 20.0)]


def kits(
    heights: tuple[float, float, float, float],
    bottles: Iterable[float | None] = (None, 1.0, 2.0, 5.0),
    bands: Iterable[Band | None] = (None, Band.LIGHT, Band.HEAVY),
    cushions: Iterable[float | None] = (None, 10.0),
) -> Iterator[KitAtHome]:
    """Everything that may be at home and may be missing, the furniture at these heights."""
    furnished = itertools.product(*((None, height) for height in heights))
    bottles, bands, cushions = list(bottles), list(bands), list(cushions)
    for chair, bench, table, step in furnished:
        for bottle, band, cushion in itertools.product(bottles, bands, cushions):
            if cushion is None or chair is not None:
                yield KitAtHome(
                    chair=chair,
                    bench=bench,
                    table=table,
                    step=step,
                    bottle=bottle,
                    band=band,
                    cushion=cushion,
                )


@contextmanager
def _weighed_once() -> Iterator[None]:
    """A rung asks the same with every kit that has the same of what it needs."""
    known: dict[tuple[object, ...], Weighed] = {}

    def once(body: Body, rung: Rung, kit: KitAtHome, barred: Barred = NOT_BARRED) -> Weighed:
        padded = "cushion" in rung.dials or "soft" in rung.dials
        needed = tuple(getattr(kit, item.value) for item in rung.needs)
        key = (body, rung.id, needed, kit.cushion if padded else None, barred)
        if key not in known:
            known[key] = weigh(body, rung, kit, barred)
        return known[key]

    with patch("core.movements.ladder.weigh", once):
        yield


def largest_holes(
    catalogue: Catalogue,
    people: Iterable[tuple[Sex, float, float]],
    at_home: Iterable[KitAtHome],
    above: float,
) -> dict[tuple[Family, str, str], tuple[float, str]]:
    """Holes over ``above`` by family and the two rungs: the largest ratio, and for whom it is."""
    found: dict[tuple[Family, str, str], tuple[float, str]] = {}
    at_home = list(at_home)
    families = [family for family in Family if family not in UNWEIGHED]
    with _weighed_once():
        for (sex, stature, mass), kit, floor in itertools.product(people, at_home, (True, False)):
            someone = Client(
                name="",
                birth_year=1966,
                sex=sex,
                stature_cm=stature,
                mass_kg=mass,
                kit=kit,
                floor_ok=floor,
                lives_alone=False,
                limits=Limits(overhead_allowed=True),
            )
            steering = steering_of(someone, catalogue.steering, TODAY)
            for family in families:
                steps = ladder(someone, family, catalogue, TODAY, steering)
                for low, high in itertools.pairwise(steps):
                    ratio = high.demand / low.demand
                    pair = (family, low.rung, high.rung)
                    if ratio > max(above, found.get(pair, (0.0, ""))[0]):
                        whom = f"{sex.value} {stature} cm {mass} kg, {kit}, floor {floor}"
                        found[pair] = (ratio, f"{low.key} -> {high.key}: {whom}")
    return found
