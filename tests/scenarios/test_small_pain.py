"""A small pain told in words in a session: the set's pain, or a question where it may be the heart.

Ours: the reader of warning signs takes any pain of a shoulder for the heart's when in doubt.
"""

import pytest

from tests.support.practice import Practice
from tests.support.sessions import begin, do_movement

LITTLE = "It hurts a little in my shoulder"


@pytest.mark.parametrize(
    ("conditions", "arms", "asked"),
    [([], True, "from 0 to 10"), ([], False, "happening"), (["heart"], False, "happening")],
)
async def test_a_small_pain_of_a_shoulder(
    village: Practice, conditions: list[str], arms: bool, asked: str
):
    await village.client("Sam", conditions=conditions)
    await village.at("07:00")
    await begin(village, "sam")
    while arms and "push" not in village.last_to("sam"):
        await do_movement(village, "sam")
    said = await village.says("sam", LITTLE)

    assert asked in said[-1], said
    assert not any("Call" in one for one in said), said


async def test_a_small_pain_of_a_knee_is_asked_how_bad(village: Practice):
    await village.client("Sam", conditions=[])
    await village.at("07:00")
    await begin(village, "sam")
    said = await village.says("sam", "a little pain in the knee")

    assert "from 0 to 10" in said[-1], said


async def test_a_pain_of_a_shoulder_alone_is_asked_about_and_of_a_left_one_is_not(
    village: Practice,
):
    await village.client("Sam", conditions=["heart"])
    await village.client("Eve")
    await village.at("10:00")
    asked = await village.says("sam", "pain in my shoulder")
    called = await village.says("eve", "my left shoulder hurts")

    assert "happening" in asked[-1], asked
    assert not any("Call" in one for one in asked), asked
    assert any("Call" in one for one in called), called
    # A yes is as loud as it was without the question.
    yes = await village.says("sam", "yes, now")
    assert any("Call" in one for one in yes), yes
