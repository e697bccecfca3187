"""One client's ladder: steps, holes, and what safety leaves out."""

import itertools
from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given, settings

from core.client.client import KitAtHome, Limits
from core.client.operations import operations_of
from core.client.steering import Trait, steering_of
from core.mechanics.body import Body, body_of
from core.movements.demand import UNWEIGHED, weigh
from core.movements.ladder import (
    LARGEST_STEP,
    SMALLEST_STEP,
    LadderStep,
    candidates,
    ladder,
    may_offer,
)
from core.vocabulary import Condition, Family, Kit, Spare
from tests.core.movements.people import FULL_KIT, bodies, catalogue, client, kits

SESSION = [f for f in Family if f not in UNWEIGHED]
TODAY = date(2026, 3, 2)


def rungs_on(steps: tuple[LadderStep, ...]) -> set[str]:
    return {step.rung for step in steps}


@given(body=bodies, kit=kits)
@settings(max_examples=25, deadline=None)
def test_steps_rise_never_tie_and_say_where_the_holes_are(body: Body, kit: KitAtHome) -> None:
    someone = client(sex=body.sex, stature_cm=body.stature * 100, mass_kg=body.mass, kit=kit)
    for family in SESSION:
        steps = ladder(someone, family, catalogue())
        for low, high in itertools.pairwise(steps):
            ratio = high.demand / low.demand
            loaded = low.further_load or high.further_load
            assert ratio > 1.0 if loaded else ratio >= SMALLEST_STEP - 1e-9
            if ratio > LARGEST_STEP + 1e-9:
                assert low.hole_above == pytest.approx(ratio)
            else:
                assert low.hole_above is None
        if steps:
            assert steps[-1].hole_above is None
            assert steps[0].demand > 0.0


@pytest.mark.parametrize("family", SESSION)
def test_a_client_with_all_kit_meets_few_and_small_holes(family: Family) -> None:
    steps = ladder(client(), family, catalogue())
    holes = [step.hole_above for step in steps if step.hole_above]
    # Getting up is learned in six parts that have no settings.
    assert len(steps) >= (6 if family is Family.GET_UP else 12)
    assert len(holes) <= 4
    assert all(hole < 1.8 for hole in holes)


@pytest.mark.parametrize("family", SESSION)
def test_no_hole_is_left_that_a_setting_could_fill(family: Family) -> None:
    someone = client()
    weighed = [
        weigh(body_of(someone), rung, someone.kit)
        for rung in catalogue().rungs(family)
        if may_offer(someone, rung, steering_of(someone, catalogue().steering).effects)
    ]
    offered = [one.demand for one in candidates(weighed)]
    steps = ladder(someone, family, catalogue())
    for low, high in itertools.pairwise(steps):
        if low.hole_above is None:
            continue
        inside = [
            d
            for d in offered
            if d >= low.demand * SMALLEST_STEP and d * SMALLEST_STEP <= high.demand
        ]
        assert not inside, f"{low.key} -> {high.key}: {inside[:3]}"


def test_keys_are_stable_and_lead_back_to_their_step() -> None:
    for family in SESSION:
        steps = ladder(client(), family, catalogue())
        assert len({step.key for step in steps}) == len(steps)
        again = {step.key: step for step in ladder(client(), family, catalogue())}
        assert again == {step.key: step for step in steps}


def test_a_key_names_rung_and_turned_dials_in_name_order() -> None:
    step = LadderStep(
        family=Family.PUSH,
        rung="push_wall",
        setting=(("distance", 2.25), ("tempo", "slow")),
        demand=10.0,
        unit="reps",
        needs=(Kit.WALL,),
        stresses=frozenset(),
    )
    assert step.key == "push_wall@distance=2.25,tempo=slow"
    assert step.dial == {"distance": 2.25, "tempo": "slow"}
    assert hash(step) == hash(replace(step))


@pytest.mark.parametrize("spare", list(Spare))
def test_a_spared_joint_or_position_is_on_no_ladder(spare: Spare) -> None:
    someone = client(spares=frozenset({spare}))
    for family in Family:
        for step in ladder(someone, family, catalogue()):
            assert spare not in step.stresses


def test_who_does_not_get_down_to_the_floor_is_never_sent_there() -> None:
    someone = client(floor_ok=False)
    for family in Family:
        for step in ladder(someone, family, catalogue()):
            assert not step.stresses & {Spare.FLOOR, Spare.KNEELING}
            assert Kit.MAT not in step.needs


def test_kit_that_is_not_there_is_not_needed() -> None:
    bare = client(kit=KitAtHome(chair=None, wall=True, mat=False), floor_ok=False)
    for family in Family:
        for step in ladder(bare, family, catalogue()):
            assert set(step.needs) <= {Kit.WALL}


def test_loads_and_bands_stay_within_what_is_at_home() -> None:
    someone = client(kit=replace(FULL_KIT, bottle=1.5, band=FULL_KIT.band.__class__("light")))
    for family in SESSION:
        for step in ladder(someone, family, catalogue()):
            rung = catalogue().by_id[step.rung]
            plain = {name: values[0] for name, values in rung.dials.items()}
            setting = plain | dict(step.dial)
            assert float(setting.get("load", 0.0)) <= 1.5
            assert setting.get("band", "light") == "light"


def test_a_sore_wrist_pushes_with_a_band_or_on_fists() -> None:
    """Common practice: a band or fists keep the wrist straight, moving or still."""
    pushes = rungs_on(ladder(client(spares=frozenset({Spare.WRIST})), Family.PUSH, catalogue()))
    assert pushes == {
        "push_band_seated", "push_press_fists", "push_wall_fists", "push_bench_fists",
    }  # fmt: skip


@pytest.mark.parametrize("bench", [None, 90.0])
def test_what_stands_in_for_another_is_there_only_without_it(bench: float | None) -> None:
    """The chair is for where there is no bench."""
    someone = client(kit=replace(FULL_KIT, bench=bench))
    for stand_in in (rung for rung in catalogue() if rung.stands_in_for):
        rungs = rungs_on(ladder(someone, stand_in.family, catalogue()))
        assert (stand_in.id in rungs) is (bench is None)
        assert (stand_in.stands_in_for in rungs) is (bench is not None)


def test_no_floor_leaves_standing_versions_in_every_family() -> None:
    """Common practice: without the floor, the standing versions."""
    someone = client(floor_ok=False)
    for family in SESSION:
        least = 1 if family is Family.GET_UP else 5
        assert len(ladder(someone, family, catalogue())) >= least, family


def test_overhead_is_off_until_the_coach_allows_it() -> None:
    assert ladder(client(limits=Limits()), Family.OVERHEAD, catalogue()) == ()
    assert len(ladder(client(), Family.OVERHEAD, catalogue())) >= 6


def test_a_forbidden_rung_is_on_no_ladder() -> None:
    someone = client(limits=Limits(forbidden=frozenset({"squat_free", "squat_pause"})))
    found = rungs_on(ladder(someone, Family.SQUAT, catalogue()))
    assert not found & {"squat_free", "squat_pause"}
    assert found


@pytest.mark.parametrize(
    ("put_in", "today", "offered"),
    [
        (date(2026, 2, 1), TODAY, False),
        (date(2026, 1, 19), TODAY, True),
        (date(2026, 1, 20), TODAY, False),
        (None, TODAY, False),
        (date(2020, 1, 1), None, False),
        (date(2020, 1, 1), TODAY, True),
    ],
)
def test_a_young_or_undated_pacemaker_keeps_the_arms_below_the_shoulder(
    put_in: date | None, today: date | None, offered: bool
) -> None:
    someone = client(conditions=frozenset({Condition.PACEMAKER}), pacemaker_on=put_in)
    steps = ladder(someone, Family.OVERHEAD, catalogue(), today)
    assert bool(steps) is offered
    raised = any(
        Spare.OVERHEAD in step.stresses
        for family in Family
        for step in ladder(someone, family, catalogue(), today)
    )
    assert raised is offered


@pytest.mark.parametrize("condition", [Condition.THIN_BONES, Condition.SPINE_FRACTURE])
def test_thin_bones_bend_under_no_load_and_to_no_end(condition: Condition) -> None:
    someone = client(conditions=frozenset({condition}))
    for family in (Family.HINGE, Family.PULL, Family.LUNGE, Family.STEP, Family.OVERHEAD):
        for step in ladder(someone, family, catalogue()):
            supported = catalogue().by_id[step.rung].pose.get("trunk_relief")
            assert Kit.BOTTLE not in step.needs or supported, step.key
    moved = rungs_on(ladder(someone, Family.MOBILITY, catalogue()))
    assert "mobility_trunk_turn" not in moved
    assert "cool_side_reach" not in rungs_on(ladder(someone, Family.COOL_DOWN, catalogue()))


def test_glaucoma_keeps_the_head_up() -> None:
    someone = client(conditions=frozenset({Condition.GLAUCOMA}))
    for family in Family:
        for step in ladder(someone, family, catalogue()):
            assert Spare.HEAD_DOWN not in step.stresses
            assert Trait.HEAD_LOW not in catalogue().by_id[step.rung].traits


def test_nerve_loss_in_the_feet_always_has_a_hand_on_something_when_standing() -> None:
    someone = client(conditions=frozenset({Condition.NERVE_LOSS}))
    for family in (Family.BALANCE, Family.SQUAT, Family.LUNGE, Family.STEP, Family.HEEL_RAISE):
        steps = ladder(someone, family, catalogue())
        assert steps, family
        for step in steps:
            rung = catalogue().by_id[step.rung]
            plain = {name: values[0] for name, values in rung.dials.items()}
            support = (plain | dict(step.dial)).get("support")
            assert support not in ("none", "fingertips"), step.key


def test_a_replaced_hip_is_not_bent_to_its_end() -> None:
    someone = client(operations=operations_of(["Left hip"]))
    offered = {step.rung for family in Family for step in ladder(someone, family, catalogue())}
    assert not offered & {"squat_to_chair", "hinge_seated", "heel_seated_lean", "side_lying"}
    assert {"squat_small_held", "squat_high_seat"} <= offered


@pytest.mark.parametrize(
    ("joint", "bends"), [("left ankle", True), ("right hip", False), ("other joint", False)]
)
def test_a_joint_that_is_not_known_may_be_the_hip(joint: str, bends: bool) -> None:
    someone = client(operations=operations_of([joint]))
    offered = {step.rung for step in ladder(someone, Family.SQUAT, catalogue())}
    assert ("squat_to_chair" in offered) is bends
    assert "squat_small_held" in offered


def test_ladders_are_the_same_every_time() -> None:
    for family in Family:
        again = replace(client(), name="Somebody else")
        assert ladder(client(), family, catalogue()) == ladder(again, family, catalogue())
