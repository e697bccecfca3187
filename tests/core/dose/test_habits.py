"""How a client tells and stops, apart from how strong she is: what pins it, and what cannot.

The bounds are the project's own targets for its model; clients are invented here.
"""

import numpy as np
import pytest

from core.dose.capacity import after_set, starting_capacity
from core.dose.dose_model import STANDARD_MODEL, DoseModel
from core.dose.history import Ended
from core.dose.reps_curve import effort_of_reps, reps_of_effort
from core.vocabulary import Family
from tests.support.dose_cases import squat_set

STRENGTH = 0.4
EXACT = DoseModel(left_floor=0.0, telling_sd=0.01, left_stretch=0.0, left_practice=0.0)
CLIENTS = range(20)


def fresh(model=STANDARD_MODEL):
    return starting_capacity({Family.SQUAT: STRENGTH - 0.15, Family.PUSH: 0.0}, model)


def demand_for(reps):
    """The demand at which so many can be done, in the first set of a day."""
    return float(np.exp(STRENGTH - effort_of_reps(reps)))


def trained(seed, bias, *, sets=30, could_not=0, watched=0, noise=0.5, model=STANDARD_MODEL):
    """Belief after sets with one to three left, told with a constant bias (told minus true)."""
    rng = np.random.default_rng(seed)
    capacity = fresh(model)
    for number in range(sets):
        most = 10 + int(rng.integers(1, 4))
        # Six sets of a day: its offset is shared, which the told ones show.
        fatigue = np.exp(-0.035 * (number % 6))
        place = {"demand": fatigue * demand_for(most + 0.5), "days": 2 * (number // 6)}
        if number % 10 == 5 and number // 10 < could_not:
            done = squat_set(amount=most, left=0, planned=most + 2, ended=Ended.COULD_NOT, **place)
        elif number % 10 == 5 and number // 10 < watched:
            done = squat_set(left=most - 10, planned=None, watched=True, **place)
        else:
            told = round(most - 10 + bias + noise * rng.normal())
            done = squat_set(left=min(5, max(0, told)), **place)
        capacity = after_set(capacity, done)
    return capacity


def bias_found(capacity):
    """Told minus true as believed, where two are told."""
    return 2.0 - (capacity.told_none_left.mean + 2.0 * capacity.stretch)


@pytest.mark.parametrize("bias", [-1.5, 1.5])
@pytest.mark.parametrize("shown_by", ["could_not", "watched"])
def test_a_constant_bias_is_found_by_three_sets_that_show_it(bias, shown_by):
    found = [bias_found(trained(seed, bias, **{shown_by: 3})) for seed in CLIENTS]
    near = [abs(one - bias) <= 0.75 for one in found]
    assert sum(near) >= 0.8 * len(near), found


def test_told_numbers_alone_leave_the_habit_open():
    capacity = trained(1, 1.5)
    assert capacity.told_none_left.sd > 0.8 * STANDARD_MODEL.telling_sd
    assert capacity.wants_watching
    assert not trained(1, 1.5, watched=3).wants_watching


def test_who_always_tells_the_same_should_be_watched_however_sure_the_belief_is():
    capacity = fresh()
    for number in range(24):
        capacity = after_set(capacity, squat_set(demand_for(12.5), days=2 * number, left=2))
    assert capacity.tells_always_the_same
    assert capacity.wants_watching


def test_told_exactly_and_known_to_be_so_the_prediction_is_exact():
    off = []
    for seed in CLIENTS:
        capacity = trained(seed, 0.0, noise=0.0, model=EXACT)
        room = capacity.baseline(Family.SQUAT).mean - np.log(demand_for(12.5))
        off.append(reps_of_effort(room) - 12.5)
    assert abs(float(np.mean(off))) <= 0.3


def test_the_dose_suits_those_who_tell_too_many_until_the_habit_is_known():
    unknown, known = trained(2, 0.0), trained(2, 0.0, watched=3)
    for capacity in (unknown, known):
        careful = capacity.careful_forecast(Family.SQUAT).mean
        assert careful < capacity.forecast(Family.SQUAT).mean
    lowered = [
        c.forecast(Family.SQUAT).mean - c.careful_forecast(Family.SQUAT).mean
        for c in (known, unknown)
    ]
    assert lowered[0] < lowered[1]


def test_stopping_as_told_is_no_failing():
    def short(ended):
        return (
            after_set(
                trained(3, 0.0),
                squat_set(demand_for(12.5), days=70, amount=8, left=0, planned=12, ended=ended),
            )
            .baseline(Family.SQUAT)
            .mean
        )

    assert short(Ended.COULD_NOT) < short(None) < short(Ended.TOLD_TO_STOP)


def test_stops_that_tell_none_do_not_sink_what_none_is_believed_to_mean():
    """Who stops at a felt one left and tells none seemed to fail, and sank to far below none."""
    rng = np.random.default_rng(4)
    capacity = fresh()
    for number in range(150):
        most = 14 if rng.random() < 0.9 else 11
        told = most - 12 if most > 12 else 0
        amount = min(12, most - 2)
        done = squat_set(demand_for(14.5), days=2 * number, amount=amount, left=told, planned=12)
        capacity = after_set(capacity, done)
    assert capacity.told_none_left.mean > STANDARD_MODEL.left_floor - 0.75


def test_words_and_work_that_do_not_fit_make_less_sure_and_are_noticed():
    capacity = trained(5, 0.0, sets=40)
    assert capacity.doubted_on is None
    sd = capacity.told_none_left.sd
    for number in range(40):
        demand = demand_for(13.5) * 1.05**number
        told = squat_set(demand, days=90 + number, left=3 + number % 2)
        capacity = after_set(capacity, told)
        if capacity.doubted_on is not None:
            break
    assert capacity.doubted_on is not None
    assert capacity.told_none_left.sd > sd


def always_two(sets, *, least=1, left=2):
    capacity = fresh()
    for number in range(sets):
        done = squat_set(demand_for(12.5), days=2 * number, left=left, lowest_good_left=least)
        capacity = after_set(capacity, done)
    return capacity


def test_strength_is_less_sure_once_numbers_prove_a_habit_of_the_thumb():
    before, after = always_two(11), always_two(12)
    assert after.unread
    assert after.baseline(Family.SQUAT).sd > 1.3 * before.baseline(Family.SQUAT).sd
    assert always_two(13).baseline(Family.SQUAT).sd < after.baseline(Family.SQUAT).sd


def test_who_has_to_keep_three_in_hand_keeps_the_doses_that_the_numbers_led_to():
    careful = always_two(30, least=3, left=3)
    assert careful.tells_always_the_same
    assert not careful.unread


def test_another_number_for_the_same_aim_ends_the_habit_for_all_aims():
    capacity = always_two(12, least=3, left=3)
    for number, left in enumerate((2, 2, 1)):
        done = squat_set(demand_for(12.5), days=60 + number, left=left, lowest_good_left=1)
        capacity = after_set(capacity, done)
        assert capacity.tells_always_the_same is (left == 2)
