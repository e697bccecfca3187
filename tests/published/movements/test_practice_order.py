"""The order of rungs, against common practice (trade knowledge) and the authored order.

Pairs marked with a source are from papers; all others are common practice.
"""

import itertools

import pytest

from core.mechanics.body import Body
from core.movements.catalogue import Rung
from core.movements.demand import UNWEIGHED
from core.vocabulary import Family, Sex
from tests.core.movements.people import catalogue, demand

BODIES = [Body(Sex.FEMALE, 1.62, 68.0), Body(Sex.MALE, 1.75, 82.0)]

# easier, its dials, harder, its dials
COMMON_PRACTICE = [
    # squat: less range, to a raised seat, to a chair, free, with pulses
    ("squat_free", {"range": 0.5}, "squat_free", {}),
    ("squat_to_chair", {"cushion": 10.0}, "squat_to_chair", {}),
    ("squat_to_chair", {}, "squat_free", {}),
    ("squat_held", {}, "squat_free", {}),
    ("squat_free", {}, "squat_pulse", {}),
    ("squat_free", {}, "squat_bottle", {}),
    # lunge: a small bend holding on, a rear step, further and deeper, a forward step
    ("lunge_small_held", {}, "lunge_rear_held", {}),
    ("lunge_rear_held", {}, "lunge_rear", {}),
    ("lunge_rear", {"range": 0.5}, "lunge_rear", {"range": 1.0}),
    ("lunge_rear", {}, "lunge_forward", {}),  # and Phys Ther Sport 2021, 47:178-84
    ("lunge_forward", {}, "lunge_forward_long", {}),
    # push: wall, bench, table, floor from the knees with little range, in line, toes
    ("push_wall", {}, "push_bench", {}),
    ("push_bench", {}, "push_table", {}),
    ("push_table", {}, "push_knees", {}),
    ("push_knees_small", {}, "push_knees", {}),
    ("push_knees", {}, "push_toes", {}),
    # side lift: standing, lying, with a band, shorter band harder
    ("side_held", {}, "side_lying", {}),
    ("side_lying", {}, "side_lying_band", {}),
    ("side_held", {}, "side_band_held", {}),
    ("side_lying_band", {"stretch": 50.0}, "side_lying_band", {"stretch": 100.0}),
    # pull: hand and knee, hand only, two arms unsupported, pulses
    ("pull_hand_and_knee", {}, "pull_hand", {}),
    ("pull_hand", {}, "pull_two_arms", {}),
    ("pull_two_arms", {}, "pull_two_arms_low", {}),
    ("pull_two_arms_low", {}, "pull_two_arms_pulse", {}),
    # pulses without the rest phase are harder
    ("push_toes", {}, "push_toes_pulse", {}),
    ("side_one_hand", {}, "side_pulse", {}),
    # holding on less
    ("heel_held", {}, "heel_free", {}),
    ("heel_held", {}, "heel_one_leg_held", {}),
    ("step_up_held", {}, "step_up", {}),
    # a narrower base
    ("balance_apart", {}, "balance_together", {}),
    ("balance_together", {}, "balance_half_step", {}),
    ("balance_half_step", {}, "balance_heel_to_toe", {}),
    ("balance_heel_to_toe", {}, "balance_one_leg", {}),
    ("bridge_full", {}, "bridge_one_leg", {}),
    ("brace_knees", {}, "brace_toes", {}),
]


@pytest.mark.parametrize("body", BODIES, ids=lambda body: body.sex.value)
@pytest.mark.parametrize(("easier", "easier_dials", "harder", "harder_dials"), COMMON_PRACTICE)
def test_easier_is_easier_as_common_practice_has_it(
    body: Body, easier: str, easier_dials: dict, harder: str, harder_dials: dict
) -> None:
    by_id = catalogue().by_id
    low = demand(body, by_id[easier], **easier_dials)
    high = demand(body, by_id[harder], **harder_dials)
    assert low < high


@pytest.mark.parametrize("family", [f for f in Family if f not in UNWEIGHED])
def test_the_authored_order_is_the_computed_order_or_the_file_says_why(family: Family) -> None:
    body = Body(Sex.FEMALE, 1.65, 70.0)
    rungs = catalogue().rungs(family)
    for easier, harder in itertools.pairwise(rungs):
        low, high = demand(body, easier), demand(body, harder)
        assert low <= high * 1.001 or harder.why_placed, f"{easier.id} {low} > {harder.id} {high}"


def test_where_the_file_gives_a_reason_the_orders_do_differ_or_tie() -> None:
    """A reason that is no longer needed would mislead."""
    body = Body(Sex.FEMALE, 1.65, 70.0)
    for rung in catalogue():
        if rung.why_placed:
            rungs = catalogue().rungs(rung.family)
            before: Rung = rungs[rung.place - 2]
            assert demand(body, before) >= demand(body, rung) * 0.999
