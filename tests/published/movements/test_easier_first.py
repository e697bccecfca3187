"""Easier before harder, as a physiotherapist would have it: pairs in one posture, on many bodies.

The numbers are those of a list of 38 pairs. Sources stand beside the pairs; the others are common
practice. "Yoshioka", "Janssen", "Rodosky": chair rise; "Ebben", "Suprak": share on the hands.
"""

import itertools
from collections.abc import Iterator
from dataclasses import replace

import pytest

from core.client.client import KitAtHome
from core.mechanics.body import Body
from core.movements.demand import weigh
from core.movements.dials import settings_of
from core.vocabulary import Sex
from tests.core.movements.people import FULL_KIT, catalogue, demand

BODIES = [
    Body(Sex.FEMALE, 1.50, 45.0),
    Body(Sex.FEMALE, 1.62, 68.0),
    Body(Sex.FEMALE, 1.65, 105.0),
    Body(Sex.MALE, 1.75, 82.0),
    Body(Sex.MALE, 1.90, 130.0),
]
KITS = [
    FULL_KIT,
    replace(FULL_KIT, chair=40.0, bench=85.0, table=70.0, step=12.0, bottle=10.0),
    replace(FULL_KIT, chair=46.0, bench=95.0, table=78.0, step=20.0),
]

# number of the pair, easier, its dials, harder, its dials
PAIRS = [
    # Base and senses
    (1, "balance_together", {"support": "fingertips"}, "balance_together", {}),  # Baccini 2007
    (
        2,
        "balance_together",
        {"support": "firm_hand"},
        "balance_together",
        {"support": "fingertips"},
    ),
    (3, "balance_apart", {}, "balance_together", {}),
    (4, "balance_half_step", {}, "balance_heel_to_toe", {}),  # PMC11566129
    (5, "balance_heel_to_toe", {}, "balance_one_leg", {}),  # PMC11566129
    (6, "balance_together", {}, "balance_together", {"soft": "cushion"}),
    (6, "balance_together", {}, "balance_together", {"soft": "cushion", "support": "fingertips"}),
    (
        6,
        "balance_one_leg",
        {},
        "balance_one_leg",
        {"soft": "folded_towel", "support": "fingertips"},
    ),
    (9, "balance_together", {}, "balance_head_turns", {}),
    (10, "hinge_free", {}, "hinge_one_leg", {}),
    (10, "heel_free", {}, "heel_one_leg_fingertips", {}),
    # Hip and knee, hands take weight
    (11, "squat_to_chair", {"cushion": 10.0}, "squat_to_chair", {}),  # Janssen 2002, Rodosky 1989
    (11, "squat_hands_help", {"cushion": 8.0}, "squat_hands_help", {}),
    (12, "squat_hands_help", {}, "squat_to_chair", {}),  # Janssen 2002
    (12, "squat_high_seat", {}, "squat_hands_help", {}),
    (13, "squat_free", {"range": 0.5}, "squat_free", {}),
    (14, "squat_to_chair", {}, "squat_free", {}),
    (15, "squat_free", {}, "squat_bottle", {}),
    (16, "squat_free", {}, "squat_staggered", {}),
    (17, "lunge_split", {}, "lunge_forward", {}),
    (18, "lunge_rear", {}, "lunge_forward", {}),  # Phys Ther Sport 2021, 47:178-84
    (19, "lunge_split_held", {}, "lunge_split", {}),
    (19, "lunge_rear_held", {}, "lunge_rear", {"range": 0.8}),
    (19, "hinge_one_leg_held", {"support": "fingertips"}, "hinge_one_leg", {}),
    (19, "heel_chair_held", {"support": "fingertips"}, "heel_free", {}),
    (19, "step_march_held", {"range": 0.8}, "step_march", {}),
    (19, "squat_held", {}, "squat_free", {}),
    (19, "step_up_one_hand", {}, "step_up", {}),
    (21, "step_march", {}, "step_up", {}),
    (22, "step_up", {}, "step_down_slow", {}),
    # Tendon
    (23, "heel_seated", {}, "heel_free", {}),  # Baxter 2021
    (24, "heel_free", {}, "heel_one_leg_held", {}),  # J Athl Train 2017
    (25, "heel_free", {}, "heel_step", {}),
    (25, "heel_chair_held", {}, "heel_step", {}),
    # Share on the hands, lean
    (26, "push_wall", {}, "push_bench", {}),  # Suprak 2011, Gouvali 2005
    (26, "push_bench", {}, "push_table", {}),
    (26, "push_table", {}, "push_toes", {}),  # Ebben 2011
    (27, "push_wall", {"distance": 2.0}, "push_wall", {"distance": 3.0}),
    (28, "push_knees", {}, "push_toes", {}),  # Ebben 2011
    (28, "brace_knees", {}, "brace_toes", {}),
    (29, "brace_wall", {}, "brace_wall", {"distance": 3.3}),
    (30, "brace_wall", {}, "brace_bench", {}),
    (30, "brace_bench", {}, "brace_table", {}),
    (31, "brace_all_fours_arm", {}, "brace_opposite", {}),
    # Share of a leg, lever
    (32, "bridge_full", {}, "bridge_one_leg", {}),
    (33, "side_lying_bent", {}, "side_lying", {}),  # Distefano 2009
    # Lever, help
    (35, "overhead_wall_slide", {"range": 1.0}, "overhead_empty", {}),
    (36, "pull_hand", {"load": 1.0}, "pull_hand", {"load": 5.0}),
    (36, "heel_bottles", {"load": 2.0}, "heel_bottles", {"load": 5.0}),
    (36, "overhead_one_bottle", {}, "overhead_bottles", {}),
    (38, "pull_hand", {"load": 5.0}, "pull_two_arms", {}),
    (38, "pull_hand_and_knee", {}, "pull_hand", {}),
]
NO_RUNGS_YET = {
    7: "nothing is done with the eyes shut",
    8: "nothing is done with a second task",
    20: "one step height a home",
    34: "the arm is turned out sitting only, never lying on the side",
    37: "every rung, below",
}


def test_every_pair_of_the_list_is_tried_or_named() -> None:
    assert {pair[0] for pair in PAIRS} | set(NO_RUNGS_YET) == set(range(1, 39))


@pytest.mark.parametrize("body", BODIES, ids=lambda body: f"{body.stature} m {body.mass} kg")
@pytest.mark.parametrize(
    ("number", "easier", "easier_dials", "harder", "harder_dials"),
    PAIRS,
    ids=[f"{pair[0]} {pair[1]} {pair[3]}" for pair in PAIRS],
)
def test_what_is_easier_asks_less_on_every_body_and_with_every_kit(
    number: int,
    easier: str,
    easier_dials: dict,
    harder: str,
    harder_dials: dict,
    body: Body,
) -> None:
    by_id = catalogue().by_id
    for kit in KITS:
        low = demand(body, by_id[easier], kit, **easier_dials)
        high = demand(body, by_id[harder], kit, **harder_dials)
        if low == low and high == high:  # not a pose that this body cannot take
            assert low < high, (number, kit)


def lower_step() -> KitAtHome:
    return replace(FULL_KIT, step=10.0)


@pytest.mark.parametrize("body", BODIES, ids=lambda body: f"{body.stature} m")
def test_a_low_step_is_easier_than_a_high_one(body: Body) -> None:
    """Pair 20."""
    rung = catalogue().by_id["step_up"]
    assert demand(body, rung, lower_step()) < demand(body, rung, replace(FULL_KIT, step=20.0))


def paused() -> Iterator[tuple[str, list[float]]]:
    for rung in catalogue():
        if "pause" in rung.dials:
            yield rung.id, sorted(float(pause) for pause in rung.dials["pause"])


@pytest.mark.parametrize("body", BODIES, ids=lambda body: f"{body.stature} m {body.mass} kg")
def test_a_longer_hold_is_never_easier(body: Body) -> None:
    """Pair 37."""
    for name, pauses in paused():
        found = [demand(body, catalogue().by_id[name], pause=pause) for pause in pauses]
        for short, long in itertools.pairwise(found):
            assert short < long or short != short, name


@pytest.mark.parametrize("body", BODIES, ids=lambda body: f"{body.stature} m {body.mass} kg")
def test_less_of_a_hand_is_never_easier_at_any_setting(body: Body) -> None:
    """Pairs 1, 2 and 19 for every rung with a support dial, whatever else is turned."""
    help_ = ["press", "firm_hand", "two_hands", "resting_hand", "steady_hand", "one_hand"]
    help_ += ["fingertips", "none"]
    for rung in catalogue():
        if "support" not in rung.dials:
            continue
        plain = rung.dials["support"][0]
        by_rest: dict[tuple, dict[str, float]] = {}
        weighed = weigh(body, rung, FULL_KIT)
        for setting, asked in zip(weighed.settings, weighed.demand.tolist(), strict=True):
            rest = tuple(item for item in setting if item[0] != "support")
            by_rest.setdefault(rest, {})[str(dict(setting).get("support", plain))] = asked
        for found in by_rest.values():
            order = [found[hold] for hold in help_ if hold in found]
            assert order == sorted(order) or any(one != one for one in order), rung.id


def test_soft_ground_comes_with_a_touch_at_most() -> None:
    """Who needs the whole hand stands on firm ground; and a cushion must be there."""
    for rung in catalogue():
        for setting in settings_of(rung, FULL_KIT):
            turned = dict(setting)
            if "soft" in turned:
                assert turned.get("support") in (None, "fingertips"), rung.id
        for setting in settings_of(rung, replace(FULL_KIT, cushion=None)):
            assert ("soft", "cushion") not in setting


def test_balance_is_held_at_a_bench_or_a_table_or_at_a_chair_against_a_wall() -> None:
    """A chair that can move is no hold (hospital leaflet)."""
    for rung in catalogue():
        if rung.family == "balance" and not {"bench", "table"} & set(rung.needs):
            assert {"chair", "wall"} <= set(rung.needs), rung.id
            assert "chair_to_wall" in rung.cautions


def test_one_hand_asks_more_of_the_back_than_the_same_in_each_of_both() -> None:
    """McGill 2013 (Ergonomics 56:293-302), from memory: 30 kg in one hand load the back more than
    30 kg in each."""
    by_id = catalogue().by_id
    for kg in (1.0, 4.0):
        both = demand(BODIES[1], by_id["carry_both"], load=kg)
        assert both < demand(BODIES[1], by_id["carry_one_side"], load=kg)
