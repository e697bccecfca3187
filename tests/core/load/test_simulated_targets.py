"""The rules on invented clients reach their targets and beat the plain rules, same clients."""

from datetime import timedelta

import numpy as np
import pytest

from core.client.client import Client
from core.load.overload import judge_overload
from core.readiness.readiness import assess
from tests.bench.readiness_overload import (
    FALSE_ALARMS_A_YEAR,
    area_under_curve,
    at_false_alarms,
    ours,
    overload_with_prediction,
    plain_z,
    raw_mean,
    raw_sum_rule,
    readiness_figures,
    z_rule,
)
from tests.support.simulated_mornings import FIRST_DAY, day, simulated_clients


@pytest.fixture(scope="module")
def clients():
    return list(simulated_clients(np.random.default_rng(2026), 150))


def test_readiness_tells_truly_bad_days(clients):
    found = readiness_figures(clients, ours)
    assert found.area >= 0.90
    assert found.found >= 0.74
    assert found.area_first_week >= 0.80


def test_readiness_beats_the_plain_mean_and_the_plain_z(clients):
    mine = readiness_figures(clients, ours)
    for rule in (raw_mean, plain_z):
        other = readiness_figures(clients, rule)
        assert mine.area > other.area + 0.02
        assert mine.found > other.found + 0.05


def test_overload_is_found_early_with_few_false_alarms(clients):
    values = [overload_with_prediction(client) for client in clients]
    found = at_false_alarms(clients, values, FALSE_ALARMS_A_YEAR)
    assert found.false_a_year <= FALSE_ALARMS_A_YEAR
    assert found.found >= 0.75
    # The target is 10; on 150 clients the median wavers by a day (1,500: see the printed table).
    assert found.median_delay <= 11
    for rule in (raw_sum_rule, z_rule):
        other = at_false_alarms(clients, [rule(client) for client in clients], FALSE_ALARMS_A_YEAR)
        assert found.found > other.found + 0.1


def test_the_measured_number_is_the_one_the_product_uses(clients):
    """The table walks a client once; the product judges each day anew: the same shortfall."""
    client = clients[0]
    walked = ours(client)
    for morning in client.mornings[20:60:7]:
        judged = assess(client.mornings, morning, Client("A"), on=morning.on)
        index = (morning.on - FIRST_DAY).days
        if judged.answered:
            assert judged.shortfall == pytest.approx(walked[index])


def test_the_area_under_the_curve_counts_pairs():
    """Mann and Whitney 1947: by hand, 3 of 4 pairs in order and none tied."""
    bad = np.array([True, True, False, False])
    assert area_under_curve(bad, np.array([3.0, 1.0, 2.0, 0.0])) == 0.75
    assert area_under_curve(bad, np.array([1.0, 1.0, 1.0, 1.0])) == 0.5


def test_a_seed_gives_the_same_clients():
    one, other = (list(simulated_clients(np.random.default_rng(1), 2)) for _ in range(2))
    assert one[1].mornings == other[1].mornings
    assert np.array_equal(one[1].loads, other[1].loads)


def test_the_first_days_without_a_history_are_judged_without_error(clients):
    client = clients[1]
    for offset in range(10):
        on = day(0) + timedelta(days=offset)
        known = [past for past in client.mornings if past.on < on]
        assert 0 <= assess(known, None, Client("A"), on=on).score <= 100
    assert judge_overload([]).reasons == ()
