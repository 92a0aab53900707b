import numpy as np
import pytest
from scipy.stats import betabinom, lognorm

from lots.forecast import surprise
from lots.forecast.durations import LogDays
from lots.forecast.takes import Take, units_pmf

NONE = np.array([], dtype=int)


def test_the_chance_of_losses_is_the_tail_of_the_beta_binomial():
    take = Take(np.array([1.5, 1.5]), np.array([1e-9, 1e-9]), 0.05, NONE, NONE)
    units = np.array([48, 48])
    found = surprise.chance_of_losses(units_pmf(take, units), units, np.array([5, 30]))
    mu, heads = 1 / (1 + np.exp(-1.5)), 19
    expected = betabinom.cdf([43, 18], 48, mu * heads, (1 - mu) * heads)
    assert found == pytest.approx(expected)
    assert found[1] < surprise.SELDOM < found[0]


def test_no_losses_surprise_nobody():
    take = Take(np.array([3.0]), np.array([0.2]), 0.02, NONE, NONE)
    units = np.array([48])
    found = surprise.chance_of_losses(units_pmf(take, units), units, np.array([0]))
    assert found == pytest.approx(1)


def test_the_chance_of_lateness_is_the_tail_of_the_forecast():
    days = LogDays(np.log([36.0, 36.0, 36.0]), np.full(3, 0.2), NONE, NONE)
    found = surprise.chance_of_lateness(days, np.array([0.0, 36.0, 60.0]))
    assert found == pytest.approx([1, 0.5, lognorm(0.2, scale=36).sf(60)])
    assert found[2] < surprise.SELDOM
