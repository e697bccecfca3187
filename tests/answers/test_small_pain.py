"""A small pain of one joint is no warning sign; one word too many, and it is not taken for one.

Ours: no source says how a small pain is worded.
"""

import pytest

from core.answers.small_pain import lone_joint_pain, small_joint_pain
from tests.answers.score import words_of_sets


@pytest.mark.parametrize(
    ("text", "joint"),
    [
        ("It hurts a little in my shoulder", "shoulder"),
        ("knee a bit, 2 out of 10", "knee"),
        ("a little pain in the knee", "knee"),
        ("my right shoulder is slightly sore.", "shoulder"),
        ("There is a slight ache in my hip", "hip"),
    ],
)
def test_a_small_pain_of_one_joint(text: str, joint: str):
    assert small_joint_pain(text, words_of_sets()) == joint


@pytest.mark.parametrize(
    "text",
    [
        "It hurts in my shoulder",
        "It hurts a little in my left shoulder",
        "It hurts a little in my chest and my shoulder",
        "my shoulder hurts a little and I am short of breath",
        "my shoulder hurts a bit and I feel sweaty",
        "a little pressure in my shoulder",
        "my arm hurts a little",
        "my jaw hurts a little",
        "my calf hurts a little",
        "my knee hurts a bit, it is hot and swollen",
        "shoulder 7 out of 10, a little pain",
        "my shoulder and my knee hurt a little",
        "my mother's knee hurts a little",
        "a little",
        "shoulder",
    ],
)
def test_anything_more_is_no_small_pain(text: str):
    assert small_joint_pain(text, words_of_sets()) is None


@pytest.mark.parametrize(
    ("text", "joint"),
    [
        ("pain in my shoulder", "shoulder"),
        ("My right shoulder hurts.", "shoulder"),
        ("there is an ache in my elbow", None),  # one word too many
        ("my elbow aches", "elbow"),
        ("my left shoulder hurts", None),
        ("pain in my shoulder and my knee", None),
        ("bad pain in my shoulder", None),
        ("pain in my shoulder, 7 of 10", None),
        ("pain in my shoulder and jaw", None),
        ("pain in my chest", None),
        ("my shoulder", None),
    ],
)
def test_a_pain_of_one_joint_of_which_nothing_else_is_told(text: str, joint: str | None):
    assert lone_joint_pain(text, words_of_sets()) == joint
