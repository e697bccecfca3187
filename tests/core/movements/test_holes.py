"""No ladder has a hole that nobody can cross, whatever the body and the kit.

A step above a hole is allowed up to 1.30 times what was done (``core/dose/bounds.py``); a larger
one would never be offered. People of 60 whom no fact limits: facts leave rungs out, and holes are
then no fault. ``python -m tests.bench.holes`` tries all bodies and kits.
"""

import pytest

from core.dose.bounds import LARGEST_RISE_OVER_HOLE
from core.vocabulary import Band
from tests.core.movements.people import catalogue
from tests.support.holes import HEIGHTS, PEOPLE, kits, largest_holes


@pytest.mark.parametrize(
    ("person", "heights"),
    list(zip(PEOPLE[:3], HEIGHTS, strict=True)),
    ids=lambda value: str(value[-1]),
)
def test_nobody_meets_a_hole_that_cannot_be_crossed(person: tuple, heights: tuple) -> None:
    at_home = kits(heights, bottles=(None, 1.0), bands=(None, Band.LIGHT), cushions=(None,))
    found = largest_holes(catalogue(), [person], at_home, LARGEST_RISE_OVER_HOLE)
    assert not found
