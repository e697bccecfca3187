"""The 2-for-2 rule of strength coaching: two over goal in two sessions running, and up it goes."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bot.cli.closed_loop_client import LoopClient
from core.dose.dose_model import DoseModel
from core.dose.reps_curve import reps_of_effort
from core.vocabulary import Aim, Family
from tests.support.dose_cases import client_of, ladder_of, on_day

EXACT_TELLING = DoseModel(
    left_floor=0.0,
    telling_sd=0.01,
    left_stretch=0.0,
    left_practice=0.0,
    left_sd=0.3,
    left_sd_each=0.0,
    set_fatigue=0.0,
    # Exact and unchanging: the same number again and again is the truth here.
    always_the_same=1000,
)


@pytest.mark.parametrize("aim", [Aim.STRENGTH, Aim.ENDURANCE])
@settings(max_examples=40, deadline=None)
@given(strength=st.floats(0.2, 1.6), ratio=st.floats(1.02, 1.10), gain=st.floats(0.0, 0.01))
def test_two_over_the_goal_in_two_sessions_always_lead_to_a_step_up(aim, strength, ratio, gain):
    # Baechle and Earle: two or more over goal in the last set, two sessions running. Steps of 2 to
    # 10 % as ACSM 2009 has them. The goal is the top of the aim's range; telling is exact. The
    # first six sessions, which leave more in hand, do not count.
    steps = math.ceil(math.log(12.0) / math.log(ratio))
    ladder = ladder_of([0.6 * ratio**place for place in range(steps)])
    loop = LoopClient(client_of(aim), {Family.SQUAT: ladder}, model=EXACT_TELLING)
    over_goal, last = 0, 0.0
    for session in range(40):
        loop.open_day(on_day(2 * session))
        given_set = loop.next_set(Family.SQUAT)
        if over_goal >= 2:
            assert given_set.step.demand > last
        room = strength + gain * session - math.log(given_set.step.demand)
        possible = math.floor(reps_of_effort(room))
        reps = max(0, min(given_set.amount, possible))
        left = max(0, min(5, possible - reps))
        established = given_set.stop_at_left == 1
        two_over = established and reps == given_set.high and left >= 2
        same = given_set.step.demand == last
        over_goal = (over_goal + 1 if same else 1) if two_over else 0
        last = given_set.step.demand
        loop.set_done(Family.SQUAT, reps, left, slip=False, pain=0)
