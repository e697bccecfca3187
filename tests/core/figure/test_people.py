"""Who is in the pictures."""

import pytest

from core.figure.people import LOOKS, Hair, Look, look_for
from core.figure.shapes import mixed
from core.vocabulary import Family
from tests.core.figure.scenes import scene, start_and_end


def _brightness(colour: str) -> float:
    red, green, blue = (int(colour[k : k + 2], 16) for k in (1, 3, 5))
    return 0.299 * red + 0.587 * green + 0.114 * blue


def test_the_same_person_always_has_the_same_look() -> None:
    assert look_for("Ann", "squat") is look_for("Ann", "squat")


def test_many_clients_see_all_the_people() -> None:
    seen = {look_for(f"client {k}", Family.SQUAT).name for k in range(200)}
    assert seen == set(LOOKS)


def test_people_differ_in_skin_hair_and_girth() -> None:
    skins = sorted(_brightness(look.skin) for look in LOOKS.values())
    assert skins[0] < 90 < 140 < skins[-1]
    assert {look.hair for look in LOOKS.values()} == set(Hair)
    assert max(look.fullness for look in LOOKS.values()) >= 1.2
    assert any(look.glasses for look in LOOKS.values())


@pytest.mark.parametrize("look", LOOKS.values(), ids=LOOKS)
def test_clothes_stand_apart_from_skin_and_ground(look: Look) -> None:
    for colour in (look.top, look.trousers, look.shoes):
        assert _brightness("#faf5ea") - _brightness(colour) > 55
    assert _distance(look.top, look.skin) > 60


def _distance(first: str, second: str) -> float:
    pairs = [(int(first[k : k + 2], 16), int(second[k : k + 2], 16)) for k in (1, 3, 5)]
    return sum((a - b) ** 2 for a, b in pairs) ** 0.5


@pytest.mark.parametrize("look", LOOKS)
def test_a_fuller_person_is_drawn_fuller_and_nobody_unclothed(look: str) -> None:
    start, _ = start_and_end(scene("squat_free", look=look))
    parts = {shape.part for shape in start.person}
    assert {"shirt", "thigh_near", "thigh_far", "shoe_near", "shoe_far", "hair"} <= parts
    slim, _ = start_and_end(scene("squat_free", look="kenji"))
    if LOOKS[look].fullness > 1.1:
        assert _depth(start) > _depth(slim)


def _depth(figure) -> float:
    outline = next(s for s in figure.person if s.part == "shirt").outlines[0]
    return float(outline.real.max() - outline.real.min())


def test_far_limbs_are_darker() -> None:
    start, _ = start_and_end(scene("squat_free"))
    fill = {shape.part: shape.fill for shape in start.person}
    assert _brightness(fill["thigh_far"]) < _brightness(fill["thigh_near"])
    assert mixed(fill["thigh_near"], "#000000", 0.0) == fill["thigh_near"]
