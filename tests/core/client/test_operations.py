"""Operations as values: what is stored, what older profiles hold, where the stricter rule holds."""

from dataclasses import replace
from datetime import date

import pytest

from core.client.client import Client
from core.client.operations import (
    ArmHeight,
    DayOrPart,
    Joint,
    Operation,
    OperationKind,
    Place,
    Side,
    SurgeonLimits,
    needs_stricter_rule,
    operation_json,
    operations_of,
)
from core.vocabulary import Condition

LEFT_ANKLE = Operation(joint=Joint.ANKLE, side=Side.LEFT)
ANKLE = Place(frozenset({Joint.ANKLE}))


@pytest.mark.parametrize(
    ("side", "operation", "stricter"),
    [
        (Side.LEFT, LEFT_ANKLE, True),
        (Side.RIGHT, LEFT_ANKLE, False),
        (None, LEFT_ANKLE, True),
        (Side.RIGHT, replace(LEFT_ANKLE, side=None), True),
        (None, replace(LEFT_ANKLE, joint=Joint.KNEE), False),
        (Side.RIGHT, Operation(), True),
        (Side.RIGHT, Operation(side=Side.LEFT), True),
    ],
)
def test_the_side_matters_where_both_said_it_and_an_unknown_joint_is_careful(
    side, operation, stricter
):
    assert needs_stricter_rule(replace(ANKLE, side=side), [operation]) is stricter


def test_an_unknown_joint_is_careful_only_where_a_joint_can_be_meant():
    for joint in Joint:
        assert needs_stricter_rule(Place(frozenset({joint})), [Operation()])
    assert not needs_stricter_rule(Place(frozenset()), [Operation()])
    assert not needs_stricter_rule(ANKLE, [])


def test_one_of_several_operations_is_enough():
    knee = Operation(joint=Joint.KNEE, side=Side.RIGHT)
    assert needs_stricter_rule(ANKLE, [knee, LEFT_ANKLE])


@pytest.mark.parametrize(
    ("stored", "values"),
    [
        ("left knee", [Operation(joint=Joint.KNEE, side=Side.LEFT)]),
        ("Right hip", [Operation(joint=Joint.HIP, side=Side.RIGHT)]),
        ("knee", [Operation(joint=Joint.KNEE)]),
        ("left ankle", [LEFT_ANKLE]),
        ("other joint", [Operation()]),
        (
            "both knees",
            [
                Operation(joint=Joint.KNEE, side=Side.LEFT, words="both knees"),
                Operation(joint=Joint.KNEE, side=Side.RIGHT, words="both knees"),
            ],
        ),
        ("collar bone", [Operation(words="collar bone")]),
        ("left hip and right knee", [Operation(words="left hip and right knee")]),
    ],
)
def test_the_words_of_older_profiles_are_read_as_values(stored, values):
    assert operations_of([stored]) == tuple(values)


def test_a_value_comes_back_from_its_stored_form():
    whole = Operation(
        OperationKind.FIXATION,
        Joint.SHOULDER,
        Side.RIGHT,
        DayOrPart(2026, 3, 4),
        SurgeonLimits(90.0, 2.5, date(2026, 5, 1), 6, kneeling=False, arm_height=ArmHeight.CHEST),
        "shoulder pinned 4 March 2026",
    )
    stored = operation_json(whole)
    assert stored["on"] == "2026-03-04"
    assert stored["limits"]["until"] == "2026-05-01"
    for value in (whole, LEFT_ANKLE, Operation(), replace(whole, on=DayOrPart(2026))):
        assert operations_of([operation_json(value)]) == (value,)


@pytest.mark.parametrize("text", ["2019", "2019-03", "2020-02-29"])
def test_a_day_keeps_the_precision_it_was_told_with(text):
    """ISO 8601 with reduced precision."""
    assert DayOrPart.fromisoformat(text).isoformat() == text


@pytest.mark.parametrize("text", ["2019-13", "2019-02-29", "0"])
def test_a_day_that_no_calendar_holds_is_refused(text):
    with pytest.raises(ValueError, match=r"month|day|year"):
        DayOrPart.fromisoformat(text)


def test_a_replacement_told_without_its_joint_is_one_not_known():
    told = Client("Nell", conditions=frozenset({Condition.JOINT_REPLACEMENT}))
    assert told.is_careful_at(ANKLE)
    named = replace(told, operations=(Operation(joint=Joint.HIP),))
    assert not named.is_careful_at(ANKLE)
    assert not Client("Nell").is_careful_at(ANKLE)


def test_what_was_only_repaired_is_careful_but_no_replaced_joint():
    repaired = replace(LEFT_ANKLE, kind=OperationKind.REPAIR)
    client = Client("Nell", operations=(repaired,))
    assert client.is_careful_at(ANKLE)
    assert client.replaced_joints == ()
    assert client.known_conditions == frozenset()
    replaced = replace(client, operations=(repaired, LEFT_ANKLE))
    assert replaced.replaced_joints == (LEFT_ANKLE,)
    assert replaced.known_conditions == {Condition.JOINT_REPLACEMENT}
