"""Training load against Foster 1998, with numpy and scipy beside it."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import variation

from core.load.training_load import monotony, strain, week_load

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
