"""Training load against Foster 1998 and Williams 2017, with numpy, pandas and scipy beside it."""

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import variation

from core.load.training_load import monotony, strain, week_load, weighted_averages

VARIED = [150.0, 0.0, 120.0, 0.0, 180.0, 60.0, 0.0]
STEADY = [100.0, 110.0, 90.0, 100.0, 105.0, 95.0, 100.0]


@pytest.mark.parametrize(
    ("days", "week", "expected_monotony", "expected_strain"),
    [(VARIED, 510, 1.0196, 519.995), (STEADY, 700, 16.7332, 11713.239)],
)
def test_week_monotony_and_strain(days, week, expected_monotony, expected_strain):
    """Foster 1998 definitions, worked by hand with the population standard deviation."""
    assert week_load(days) == week
    assert monotony(days) == pytest.approx(expected_monotony, abs=5e-4)
    assert strain(days) == pytest.approx(expected_strain, abs=5e-3)


def test_the_population_spread_gives_the_higher_more_careful_monotony():
    """With n - 1 the same week gives 0.944: monotony is not under it."""
    with_sample_spread = float(np.mean(VARIED) / np.std(VARIED, ddof=1))
    assert with_sample_spread == pytest.approx(0.944, abs=5e-4)
    assert monotony(VARIED) > with_sample_spread


@given(st.lists(st.floats(0, 600), min_size=7, max_size=7))
def test_monotony_is_the_inverse_of_the_coefficient_of_variation(days):
    """scipy.stats.variation is spread over mean; capped where the spread all but vanishes."""
    spread_over_mean = variation(days) if sum(days) > 1e-6 else np.inf
    if spread_over_mean > 0.051 and np.isfinite(spread_over_mean):
        assert monotony(days) == pytest.approx(1 / spread_over_mean, rel=1e-6)


# Williams 2017, weight 2 / (N + 1), seeded by the first day; computed.
SEVEN_DAYS = [300, 225, 168.75, 201.5625, 151.171875, 113.37890625, 160.0341796875]


def test_weighted_average_over_seven_days():
    """Williams 2017, Br J Sports Med 51:209-10."""
    loads = [300, 0, 0, 300, 0, 0, 300]
    assert weighted_averages(loads, 7) == pytest.approx(SEVEN_DAYS, abs=5e-4)


@pytest.mark.parametrize(
    ("day", "acute", "chronic"), [(29, 125.0, 106.897), (35, 186.652, 139.360)]
)
def test_a_doubled_week_after_four_steady_ones(day, acute, chronic):
    """Williams 2017: 28 days at 100, then 7 at 200; the two averages, no verdict on their ratio."""
    loads = [100] * 28 + [200] * 7
    assert weighted_averages(loads, 7)[day - 1] == pytest.approx(acute, abs=5e-4)
    assert weighted_averages(loads, 28)[day - 1] == pytest.approx(chronic, abs=5e-4)


@given(
    st.lists(st.floats(0, 1000), min_size=1, max_size=60),
    st.sampled_from([1, 2, 5, 7, 21, 28]),
)
def test_weighted_averages_agree_with_pandas(loads, span):
    """pandas ewm without adjustment is the same recursion."""
    expected = pd.Series(loads).ewm(span=span, adjust=False).mean().tolist()
    assert weighted_averages(loads, span) == pytest.approx(expected, rel=1e-9, abs=1e-9)
