"""When a coach may let less stay in hand of high pressure alone, and what stays in hand then."""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from core.client.care import Care, is_careful
from core.client.client import Client, Limits
from core.client.steering import cares_of
from core.dose.pressure_calm import PressureReading, may_leave_less
from core.vocabulary import Condition
from tests.core.movements.people import catalogue

TODAY = date(2026, 6, 1)
BEGUN = TODAY - timedelta(weeks=12)
PRESSED = Client("Bob", conditions=frozenset({Condition.PRESSURE}))


def cares(client: Client) -> frozenset[Care]:
    return cares_of(client, catalogue().steering)


def readings(*values: tuple[int, int], ago: int = 3) -> list[PressureReading]:
    return [PressureReading(TODAY - timedelta(days=ago), top, low) for top, low in values]


CALM = readings((130, 80), (139, 89), (120, 70))


def test_twelve_weeks_and_three_calm_readings_open_the_tap():
    assert may_leave_less(PRESSED, cares(PRESSED), BEGUN, CALM, TODAY)


@pytest.mark.parametrize(
    ("client", "begun", "told"),
    [
        (PRESSED, BEGUN + timedelta(days=1), CALM),
        (PRESSED, None, CALM),
        (PRESSED, BEGUN, CALM[:2]),
        (PRESSED, BEGUN, [*CALM, *readings((140, 80))]),
        (PRESSED, BEGUN, [*CALM, *readings((130, 90))]),
        (PRESSED, BEGUN, readings((130, 80), (130, 80), (130, 80), ago=29)),
        (replace(PRESSED, medicine_changed_on=TODAY - timedelta(weeks=11)), BEGUN, CALM),
        (replace(PRESSED, conditions=PRESSED.conditions | {Condition.STROKE}), BEGUN, CALM),
        (Client("Ann"), BEGUN, CALM),
    ],
)
def test_anything_less_does_not(client: Client, begun: date | None, told: list[PressureReading]):
    assert not may_leave_less(client, cares(client), begun, told, TODAY)


def test_the_coachs_tap_counts_for_pressure_alone_and_until_a_pill_changes():
    calm = replace(PRESSED, limits=Limits(pressure_calm_on=TODAY))
    both = replace(calm, conditions=calm.conditions | {Condition.ANGINA})
    changed = replace(calm, medicine_changed_on=TODAY + timedelta(days=1))
    careful = [is_careful(one, cares(one)) for one in (PRESSED, calm, both, changed)]
    assert careful == [True, False, True, True]
