"""Two rungs of nearly the same demand take turns, and sets of both count.

Ours: that another form keeps people at it is common practice; no source was found for how near the
two must be. Measured by ``tests.bench.dose``.
"""

import math
from itertools import pairwise

import pytest

from bot.cli.closed_loop_client import LoopClient
from core.dose.family_record import family_record
from core.dose.reps_curve import reps_of_effort
from core.vocabulary import Aim, Condition, Family
from tests.support.dose_cases import MONDAY, client_of, ladder_of, squat_set

STEADY = math.log(1.6)
"""What somebody can do who gets no stronger: about ten at the middle of the ladder, two left."""


def lived(demands, sessions=16, **changes):
    """Rung and demand of the first set of each session, told as it truly was."""
    loop = LoopClient(client_of(Aim.OPEN, **changes), {Family.SQUAT: ladder_of(demands)})
    found = []
    for _ in range(sessions):
        given = loop.next_set(Family.SQUAT)
        found.append((given.step.rung, given.step.demand))
        can = math.floor(reps_of_effort(STEADY - math.log(given.step.demand)))
        loop.set_done(
            Family.SQUAT, given.amount, max(0, min(5, can - given.amount)), slip=False, pain=0
        )
        loop.end()
    return found


def test_where_nothing_is_due_two_rungs_take_turns():
    settled = lived((0.9, 0.95, 1.0, 1.05, 1.4))[8:]
    rungs = [rung for rung, _ in settled]
    assert all(one != other for one, other in pairwise(rungs)), rungs
    assert all(1 / 1.081 <= b / a <= 1.081 for (_, a), (_, b) in pairwise(settled))


@pytest.mark.parametrize(
    ("demands", "changes"),
    [
        ((0.8, 1.0, 1.25), {}),
        ((0.9, 0.95, 1.0, 1.05, 1.4), {"conditions": frozenset({Condition.DEMENTIA})}),
    ],
)
def test_without_a_near_rung_and_with_failing_memory_it_stays(demands, changes):
    """Who forgets does best with what is known (common practice); a plateau changes it once."""
    rungs = [rung for rung, _ in lived(demands, **changes)[8:]]
    assert sum(one != other for one, other in pairwise(rungs)) <= 2, rungs


def record(*sets):
    return family_record(sets, (), 10, MONDAY + (sets[-1].on - sets[0].on) * 2)


def one(demand, days, rung, **changes):
    return squat_set(demand, days=days, step_key=rung, **changes)


def test_sets_on_the_easier_of_two_rungs_count_for_the_level_of_the_harder():
    found = record(one(1.0, 0, "a"), one(0.95, 2, "b"))
    assert (found.base_demand, found.good_sessions) == (1.0, 2)


@pytest.mark.parametrize(
    "sets",
    [
        [one(1.0, 0, "a", left=0), one(0.95, 2, "b")],
        [one(1.0, 0, "a"), one(0.95, 2, "b", slip=True)],
        [one(1.0, 0, "a"), one(0.9, 2, "b")],
        [one(1.0, 0, "a"), one(0.95, 2, "a")],
        [one(1.0, 0, "a"), one(0.95, 20, "b")],
    ],
    ids=["none left before", "slipped", "far easier", "same rung", "long ago"],
)
def test_a_step_down_for_a_reason_is_none_in_turn(sets):
    assert record(*sets).base_demand == sets[-1].demand


def test_the_rung_before_a_step_up_does_not_count_for_the_next():
    """Two sessions at the new step as ever (Baechle and Earle)."""
    assert record(one(0.95, 0, "b"), one(1.0, 2, "a")).good_sessions == 1
