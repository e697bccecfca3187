"""Where a client is, and which joint, out of their own words. Examples from memory of such talk."""

import pytest

from bot.flows.safety.told_words import body_parts_told, place_told, street_told
from bot.reference.spoken import load_places

PLACES = load_places()


@pytest.mark.parametrize(
    "words",
    [
        "5 Rimu Road",
        "it is 12b Kowhai Lane, the blue house",
        "I'm at my daughter's",
        "I am still at the pool",
        "outside the library",
        "in the garden",
        "I’m on the bus",
        "near the church",
    ],
)
def test_a_place_is_heard(words: str):
    assert place_told([words], PLACES) == words.replace("’", "'")


@pytest.mark.parametrize(
    "words",
    [
        "please hurry",
        "at the moment ok",
        "at rest too",
        "in my chest",
        "on the left side",
        "in the morning I was well",
        "behind my ribs",
        "3 tablets this morning",
        "I am in pain",
        "195 over 118 just now",
        "",
    ],
)
def test_no_place_is_made_up(words: str):
    assert place_told([words], PLACES) == ""


def test_the_newest_place_counts_and_each_line_is_read():
    words = ["1 Kauri Street", {"group": "coach"}, "my chest is tight\nI'm at the pool", "hurry"]
    assert place_told(words, PLACES) == "I'm at the pool"
    assert street_told(words, PLACES) == "1 Kauri Street"
    assert street_told(["my chest hurts, 5 Rimu Road please"], PLACES) == "5 Rimu Road"


@pytest.mark.parametrize(
    ("words", "named"),
    [
        ("my new right knee is hot and red", ["right knee"]),
        ("my right new knee is hot", ["right knee"]),
        ("left calf swollen, and the hip", ["left calf", "hip"]),
        ("my knee hurts. the left knee", ["left knee"]),
        ("it has come back, I hand it to you", []),
        ("my left hand is numb", ["left hand"]),
    ],
)
def test_joints_are_named_with_their_side(words: str, named: list[str]):
    assert body_parts_told([words], PLACES) == named
