"""Hands do what the rung asks, and feet stand."""

import numpy as np
import pytest

from core.figure.contact import PALM, Hand, touching
from core.figure.stage import skeletons_of
from tests.core.figure.scenes import BODIES, KIT, scene, start_and_end


@pytest.mark.parametrize(
    ("rung", "side", "hand"),
    [
        ("push_table", "near", Hand.FLAT),
        ("push_toes", "near", Hand.FLAT),
        ("push_wall", "near", Hand.WALL),
        ("squat_small_held", "near", Hand.EDGE),
        ("lunge_small_held", "near", Hand.RAIL),
        ("pull_two_arms", "near", Hand.FIST),
        ("pull_seated_band", "near", Hand.FIST),
        ("squat_free", "near", Hand.LOOSE),
    ],
)
def test_a_hand_does_what_the_rung_asks(rung: str, side: str, hand: Hand) -> None:
    for bones in skeletons_of(scene(rung), 2)[0]:
        _, grips = touching(bones)
        assert grips[side].hand is hand


@pytest.mark.parametrize("body", BODIES)
def test_palms_lie_on_the_table(body) -> None:
    for figure in start_and_end(scene("push_table", body=body)):
        above = figure.bones["wrist_near"].imag - 75.0
        assert above == pytest.approx(PALM * figure.bones.scale, abs=0.5)


def test_an_elbow_beyond_a_table_edge_stays_above_the_table() -> None:
    for figure in start_and_end(scene("push_table", body=BODIES[1])):
        table = figure.bones.prop("table")
        assert table is not None
        elbow = figure.bones["elbow_near"]
        if elbow.real > table.at.real:
            assert elbow.imag > table.at.imag


def test_arms_keep_their_length_when_hands_are_set_on_a_table() -> None:
    bones = skeletons_of(scene("push_table"), 2)[0][0]
    set_bones, _ = touching(bones)
    for a, b in (("shoulder_near", "elbow_near"), ("elbow_near", "wrist_near")):
        assert abs(set_bones[a] - set_bones[b]) == pytest.approx(abs(bones[a] - bones[b]), rel=0.01)


def test_fists_rungs_rest_on_fists() -> None:
    bones = skeletons_of(scene("push_wall_fists"), 2)[0][0]
    assert touching(bones)[1]["near"].fist
    assert not touching(skeletons_of(scene("push_wall"), 2)[0][0])[1]["near"].fist


@pytest.mark.parametrize("body", BODIES)
def test_both_shoes_of_a_standing_person_touch_the_floor(body) -> None:
    start, _ = start_and_end(scene("squat_free", body=body))
    soles = [shape for shape in start.person if shape.part.startswith("sole")]
    assert len(soles) == 2
    for sole in soles:
        assert sole.lowest == pytest.approx(0.0, abs=0.4)


def test_legs_that_are_nearly_straight_are_drawn_straight() -> None:
    start, _ = start_and_end(scene("squat_free"))
    hip, knee, ankle = (start.bones[f"{n}_near"] for n in ("hip", "knee", "ankle"))
    line = (ankle - hip) / abs(ankle - hip)
    off = abs(((knee - hip) * line.conjugate()).imag)
    assert off < 1.5


def test_a_held_bottle_is_larger_when_it_is_heavier() -> None:
    def length(kilograms: float) -> float:
        setting = (("load", kilograms),)
        start, _ = start_and_end(scene("pull_two_arms", setting))
        outlines = [o for s in start.person if s.part == "bottle_near" for o in s.outlines]
        points = np.concatenate(outlines)
        return float(np.abs(points[:, None] - points[None, :]).max())

    assert length(1.5) > 1.2 * length(0.5)


def test_a_steadying_hand_is_on_the_bench_only_when_the_dial_says_so() -> None:
    free = touching(skeletons_of(scene("balance_half_step"), 2)[0][0])[1]
    steadied = touching(
        skeletons_of(scene("balance_half_step", (("support", "one_hand"),)), 2)[0][0]
    )[1]
    assert free["far"].hand is Hand.LOOSE
    assert steadied["far"].hand is Hand.FLAT


def test_furniture_stands_as_high_as_at_home() -> None:
    start, _ = start_and_end(scene("push_table"))
    top = max(float(o.imag.max()) for s in start.room if s.part == "table" for o in s.outlines)
    assert top == pytest.approx(KIT.table)
