"""What is drawn in front of what, and two movements whose direction is easy to draw wrongly."""

import pytest

from core.figure.composition import drawn
from core.figure.people import LOOKS
from core.figure.stage import skeletons_of
from core.mechanics.pose import View
from core.movements.catalogue import Rung
from tests.core.figure.scenes import CATALOGUE, KIT, plain, scene, start_and_end

RUNGS = pytest.mark.parametrize("rung", list(CATALOGUE), ids=lambda rung: rung.id)


@RUNGS
def test_from_the_side_the_far_limbs_are_behind_and_the_near_ones_in_front(rung: Rung) -> None:
    for figure in plain(rung.id):
        if figure.bones.view is View.FRONT:
            continue
        parts = [shape.part for shape in figure.person]
        for far in ("arm_far", "thigh_far", "shin_far", "shoe_far"):
            assert parts.index(far) < parts.index("pelvis") < parts.index("shirt")
        assert parts.index("thigh_near") < parts.index("shirt") < parts.index("arm_near")


@RUNGS
def test_the_room_is_behind_the_person(rung: Rung) -> None:
    for figure in plain(rung.id):
        kinds = {shape.part for shape in figure.room}
        assert kinds <= {"chair", "cushion", "bench", "run", "table", "step", "wall", "mat", "roll"}
        assert not kinds & {shape.part for shape in figure.person}


def test_a_wall_is_behind_all_other_furniture() -> None:
    room = [shape.part for shape in start_and_end(scene("heel_step"))[0].room]
    assert room.index("step") > max(k for k, part in enumerate(room) if part == "wall")


def test_a_bench_beside_is_touched_by_the_far_hand_behind_the_body() -> None:
    figure = start_and_end(scene("balance_heel_to_toe", (("support", "one_hand"),)))[0]
    assert KIT.bench is not None
    above = figure.bones["wrist_far"].imag - KIT.bench
    assert 0.0 < above < 6.0
    assert figure.bones["wrist_near"].imag < KIT.bench
    parts = [shape.part for shape in figure.person]
    assert parts.index("arm_far") < parts.index("shirt")


def test_a_near_rail_is_before_the_body_and_a_far_one_behind() -> None:
    figure = start_and_end(scene("step_up_held"))[0]
    parts = [shape.part for shape in figure.person]
    rails = [k for k, part in enumerate(parts) if part == "rail"]
    assert rails[0] < parts.index("arm_far")
    assert parts.index("shirt") < rails[-1] < parts.index("arm_near")


def test_a_head_drawn_back_moves_level_and_keeps_looking_ahead() -> None:
    first, last = skeletons_of(scene("mobility_chin_tuck"), 2)[0]
    moved = last["crown"] - first["crown"]
    assert moved.real < -4.0
    assert abs(moved.imag) < 0.06 * abs(moved.real)
    assert last.gaze == pytest.approx(first.gaze)
    faces = [next(s for s in drawn(b, LOOKS["rosa"]).person if s.part == "head")
             for b in (first, last)]  # fmt: skip
    assert faces[0].lowest == pytest.approx(faces[1].lowest, abs=0.5)


def test_stepping_down_begins_on_the_step_and_ends_with_the_far_foot_on_the_floor() -> None:
    first, last = skeletons_of(scene("step_down_slow"), 2)[0]
    tread = KIT.step
    assert tread is not None
    for side in ("near", "far"):
        assert first[f"heel_{side}"].imag == pytest.approx(tread, abs=1.5)
    assert last["heel_near"].imag == pytest.approx(tread, abs=0.5)
    assert last["toe_far"].imag == pytest.approx(0.0, abs=0.5)
    assert last.hips.imag < first.hips.imag - 0.5 * tread


@pytest.mark.parametrize("rung", ["lunge_rear", "lunge_rear_held", "lunge_bottles"])
def test_a_step_back_starts_with_feet_together_and_ends_behind(rung: str) -> None:
    first, last = skeletons_of(scene(rung), 2)[0]
    assert abs(first["heel_near"] - first["heel_far"]) < 1.0
    assert last["ball_near"] == pytest.approx(first["ball_near"], abs=0.5)
    assert last["ball_far"].real < first["ball_far"].real - 40.0


@pytest.mark.parametrize("rung", ["lunge_forward", "lunge_forward_long"])
def test_a_step_forward_starts_with_feet_together_and_ends_ahead(rung: str) -> None:
    first, last = skeletons_of(scene(rung), 2)[0]
    assert abs(first["heel_near"] - first["heel_far"]) < 1.0
    assert last["ball_far"] == pytest.approx(first["ball_far"], abs=0.5)
    assert last["ball_near"].real > first["ball_near"].real + 40.0


@pytest.mark.parametrize("rung", ["bridge_march", "bridge_one_leg", "brace_lying_legs"])
def test_a_leg_that_is_lifted_starts_on_the_floor(rung: str) -> None:
    first, last = skeletons_of(scene(rung), 2)[0]
    assert first["heel_near"].imag == pytest.approx(0.0, abs=0.5)
    assert last["heel_near"].imag > 15.0


@pytest.mark.parametrize(
    "rung", ["squat_held", "hinge_bench", "heel_held", "lunge_small_held", "heel_step"]
)
def test_one_hand_on_the_hold_leaves_the_other_at_the_hip(rung: str) -> None:
    both, _ = skeletons_of(scene(rung, (("support", "two_hands"),)), 2)
    one, _ = skeletons_of(scene(rung, (("support", "one_hand"),)), 2)
    assert abs(one[0]["wrist_far"] - both[0]["wrist_far"]) < 6.0
    assert abs(one[0]["wrist_near"] - one[0].hips) < 14.0
    assert one[0].resting == {"near"}
