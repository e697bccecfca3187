"""Typed joints as values, at the question and on the way into the profile."""

from collections.abc import Sequence
from datetime import date

import pytest

from bot.flows.changes import SaveProfile
from bot.flows.form_question import Setting
from bot.flows.joining.operations_reading import read_joints, read_operations
from core.client.operations import DayOrPart, Joint, Operation, OperationKind, Side
from tests.bot.flows.joining.test_join import answer_all, start
from tests.support.facts import ANN, Record, reference
from tests.support.talk import Talk

TODAY = date(2026, 3, 10)
NEW, PINNED = OperationKind.REPLACEMENT, OperationKind.FIXATION


def told(text: str) -> Sequence[Operation]:
    known = reference()
    return read_operations(text, lambda group: known.spoken.get(group, {}), TODAY, known.words)


def read(text: str):
    return [(one.kind, one.joint, one.side, one.on) for one in told(text)]


@pytest.mark.parametrize(
    ("typed", "values"),
    [
        ("left ankle", [(NEW, Joint.ANKLE, Side.LEFT, None)]),
        ("both knees", [(NEW, Joint.KNEE, Side.LEFT, None), (NEW, Joint.KNEE, Side.RIGHT, None)]),
        ("new hip 2019, right", [(NEW, Joint.HIP, Side.RIGHT, DayOrPart(2019))]),
        ("shoulder replaced in March", [(NEW, Joint.SHOULDER, None, DayOrPart(2026, 3))]),
        ("shoulder replaced in April", [(NEW, Joint.SHOULDER, None, DayOrPart(2025, 4))]),
        ("right hip 3 March 2019", [(NEW, Joint.HIP, Side.RIGHT, DayOrPart(2019, 3, 3))]),
        ("hip 05/2018", [(NEW, Joint.HIP, None, DayOrPart(2018, 5))]),
        ("knee 2031", [(NEW, Joint.KNEE, None, None)]),
        ("left knee, pinned", [(PINNED, Joint.KNEE, Side.LEFT, None)]),
        ("right thumb", [(NEW, Joint.HAND, Side.RIGHT, None)]),
        ("left sholder", [(NEW, Joint.SHOULDER, Side.LEFT, None)]),
        (
            "left hip and right knee",
            [(NEW, Joint.HIP, Side.LEFT, None), (NEW, Joint.KNEE, Side.RIGHT, None)],
        ),
        ("knee, clavicle", [(NEW, Joint.KNEE, None, None), (NEW, None, None, None)]),
        ("collar bone", [(NEW, None, None, None)]),
        ("left", [(NEW, None, Side.LEFT, None)]),
        # Whose the sides are cannot be told for sure: both count on both.
        ("hip left knee", [(NEW, Joint.HIP, None, None), (NEW, Joint.KNEE, None, None)]),
        ("???", []),
    ],
)
def test_what_is_typed_becomes_values(typed, values):
    assert read(typed) == values


def test_words_that_no_value_says_are_kept():
    (one,) = told("collar bone")
    assert one.words == "collar bone"


@pytest.mark.parametrize(
    ("typed", "ticks"),
    [
        ("my left knee and my right hip", ["left knee", "right hip"]),
        ("another", ["other joint"]),
        ("not sure", ["other joint"]),
        ("skip", []),
        ("what do you mean?", []),
    ],
)
def test_words_that_a_button_says_are_that_button(typed, ticks):
    setting = Setting({}, Record(ANN))
    assert list(read_joints(typed, setting)) == ticks


def asked_for_joints() -> Talk:
    talk = start()
    answer_all(talk, until="replaced_joints")
    return talk


def saved(talk: Talk):
    return next(
        change.answers["replaced_joints"]
        for change in talk.turn.changes
        if isinstance(change, SaveProfile) and "replaced_joints" in change.answers
    )


def test_taps_and_typed_joints_are_written_down_as_values():
    talk = asked_for_joints()
    talk.choose("left knee")
    talk.type("left ankle, 2019")
    assert "Ticked: Left knee; left ankle, 2019." in talk.text
    talk.choose("done")

    assert saved(talk) == [
        {"kind": "replacement", "joint": "knee", "side": "left"},
        {
            "kind": "replacement", "joint": "ankle", "side": "left", "on": "2019",
            "words": "left ankle, 2019",
        },
    ]  # fmt: skip


def test_a_typed_joint_can_be_taken_back_by_its_button():
    talk = asked_for_joints()
    talk.type("collar bone")
    assert "Ticked: “collar bone”." in talk.text
    talk.type("right ankle")
    talk.choose("own0")
    talk.choose("done")

    assert saved(talk) == [{"kind": "replacement", "joint": "ankle", "side": "right"}]
