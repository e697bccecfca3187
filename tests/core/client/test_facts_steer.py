"""Every fact about a client that is stored changes something: the check against facts kept in vain.

What differs is read from what plans, texts, lists and questions are made of; that left-out rungs
change ladders is shown row by row in ``tests/core/movements/test_steering.py``.
"""

from dataclasses import fields, replace
from datetime import UTC, date, datetime

import pytest

from core.client.client import Client
from core.client.operations import Joint, Operation, SurgeonLimits
from core.client.steering import steering_of
from core.client.told import CHOICES
from core.intensity.effort_guide import effort_guide
from core.movements.ladder import ladder
from core.vocabulary import Band, Condition, Family, Medicine, Spare, WalkingAid
from tests.core.movements.people import catalogue, client

TODAY = date(2026, 3, 2)
NOW = datetime(2026, 3, 2, 9, tzinfo=UTC)
TABLE = catalogue().steering


def steered(someone: Client) -> tuple[object, ...]:
    """All that rows make of a client: what is left out, said, watched, asked, minded, tested."""
    found = steering_of(someone, TABLE, TODAY)
    rows = [(row.walk, sorted(row.cares), dict(row.rather_not), row.company) for row in found.rows]
    return found.effects, found.warns, found.watches, found.asks, found.prefers, rows


@pytest.mark.parametrize("condition", list(Condition))
def test_every_condition_steers(condition: Condition) -> None:
    assert steered(client(conditions=frozenset({condition}))) != steered(client())


@pytest.mark.parametrize("medicine", list(Medicine))
def test_every_medicine_steers_or_is_told_in_the_guide_to_effort(medicine: Medicine) -> None:
    someone = client(medicines=frozenset({medicine}))
    said = effort_guide(someone, NOW) != effort_guide(client(), NOW)
    assert said or steered(someone) != steered(client())


@pytest.mark.parametrize("spare", list(Spare))
def test_every_spare_leaves_something_out(spare: Spare) -> None:
    someone = client(spares=frozenset({spare}))
    assert any(spare in rung.stresses for rung in catalogue())
    assert steered(someone) != steered(client())


@pytest.mark.parametrize("ask", sorted(CHOICES))
def test_the_answers_of_the_coach_differ_in_what_they_do(ask: str) -> None:
    """Among those who are asked, one answer steers otherwise than another."""
    asking = [row for row in TABLE if ask in row.asks]
    assert asking
    anybody = client(
        conditions=frozenset(Condition),
        medicines=frozenset(Medicine),
        falls=1,
        operations=tuple(
            Operation(joint=joint, limits=SurgeonLimits()) for joint in Joint if joint != Joint.HIP
        ),
    )
    done = {answer: _rows(replace(anybody, told={(ask, answer)})) for answer in CHOICES[ask]}
    assert len(set(done.values())) > 1


def _rows(someone: Client) -> frozenset[str]:
    return frozenset(row.id for row in steering_of(someone, TABLE, TODAY).rows)


OTHERWISE: dict[str, object] = {
    "falls": 1,
    "fears_falling": True,
    "walking_aid": WalkingAid.STICK,
    "lives_alone": True,
    "birth_year": 1935,
    "operations": (Operation(joint=Joint.KNEE),),
    "floor_ok": False,
}
ELSEWHERE = {
    "name": "addressed by it",
    "country": "numbers of emergency services",
    "zone": "the clock of day and week",
    "sex": "body tables, norms",
    "conditions": "test_every_condition_steers",
    "medicines": "test_every_medicine_steers_or_is_told_in_the_guide_to_effort",
    "spares": "test_every_spare_leaves_something_out",
    "told": "test_the_answers_of_the_coach_differ_in_what_they_do",
    "pacemaker_on": "row heart_device_young",
    "medicine_changed_on": "tests/core/dose/test_pressure_calm.py, tests/core/readiness",
    "wished_families": "tests/core/programme/test_turns.py",
    "aim": "tests/core/dose/test_session_plan.py",
    "limits": "tests/core/dose/test_bounds.py",
    "clearance": "tests/core/client/test_screening.py",
    "checkin_at": "the morning question",
    "training_days": "tests/core/programme/test_turns.py",
    "session_minutes": "tests/core/programme",
    "week": "tests/core/programme/test_turns.py",
}
"""Fields of a client that no row reads, and what reads them or proves it."""
BODY_OR_KIT: dict[str, object] = {
    "stature_cm": 150.0,
    "mass_kg": 110.0,
    "kit": replace(client().kit, bottle=None, band=Band.LIGHT),
}


@pytest.mark.parametrize("name", sorted(OTHERWISE))
def test_each_other_fact_steers(name: str) -> None:
    assert steered(client(**{name: OTHERWISE[name]})) != steered(client())


@pytest.mark.parametrize("name", sorted(BODY_OR_KIT))
def test_body_and_kit_change_a_ladder(name: str) -> None:
    other = client(**{name: BODY_OR_KIT[name]})
    assert ladder(other, Family.PULL, catalogue()) != ladder(client(), Family.PULL, catalogue())


def test_no_field_of_a_client_is_forgotten_here() -> None:
    known = {*OTHERWISE, *ELSEWHERE, *BODY_OR_KIT}
    assert {one.name for one in fields(Client)} == known
