import numpy as np
import pytest
from scipy.stats import betabinom

from lots.forecast import betabinomial

UNITS = np.array([48, 48, 10, 1, 72, 24])
LEAST = np.array([30, 0, 10, 0, 72, 5])
MOST = np.array([30, 47, 10, 0, 72, 20])
ETA = np.array([0.5, 1.0, 2.0, -1.0, 0.3, 0.0])


COUNTS = betabinomial.counted(UNITS, LEAST, MOST)


def log_pmf(taken, units, eta, rho):
    counts = betabinomial.counted(
        *(np.broadcast_to(x, np.shape(taken)) for x in (units, taken, taken))
    )
    return betabinomial.log_likelihood(counts, np.broadcast_to(eta, np.shape(taken)), rho)[0]


@pytest.mark.parametrize("rho", [1e-4, 0.05, 0.3, 0.9])
def test_the_probability_is_scipys(rho):
    heads = 1 / rho - 1
    taken = np.arange(49)
    for eta in (-6.0, 0.4, 5.0):
        mu = 1 / (1 + np.exp(-eta))
        expected = betabinom.logpmf(taken, 48, mu * heads, (1 - mu) * heads)
        assert log_pmf(taken, 48, eta, rho) == pytest.approx(expected, abs=1e-7)


def test_the_textbook_value():
    """n = 10, a = 2, b = 3, k = 4 gives 20/143."""
    found = log_pmf(np.array([4]), 10, np.log(2 / 3), 1 / 6)
    assert np.exp(found) == pytest.approx(20 / 143)


def test_a_range_is_the_sum_of_its_points():
    value, _, _ = betabinomial.log_likelihood(COUNTS, ETA, 0.08)
    for lot in range(len(UNITS)):
        points = log_pmf(np.arange(LEAST[lot], MOST[lot] + 1), UNITS[lot], ETA[lot], 0.08)
        assert np.exp(value[lot]) == pytest.approx(np.exp(points).sum())


@pytest.mark.parametrize("rho", [0.001, 0.08, 0.5])
def test_gradient_and_hessian_are_exact(rho):
    def terms(eta):
        return betabinomial.log_likelihood(COUNTS, eta, rho)

    _, slope, curvature = terms(ETA)
    step = 1e-5
    up, down = terms(ETA + step), terms(ETA - step)
    assert slope == pytest.approx((up[0] - down[0]) / (2 * step), rel=1e-5, abs=1e-6)
    assert curvature == pytest.approx((up[1] - down[1]) / (2 * step), rel=1e-5, abs=1e-6)


@pytest.mark.parametrize("eta", [-60.0, 60.0])
def test_nothing_breaks_far_out(eta):
    terms = betabinomial.log_likelihood(COUNTS, np.full(len(UNITS), eta), 0.05)
    assert np.isfinite(terms).all()


@pytest.mark.parametrize("rho", [1e-4, 0.05, 0.9])
def test_all_numbers_at_once_are_the_same_probabilities(rho):
    units, eta = np.array([48, 0, 5, 1]), np.array([0.4, 0.0, -6.0, 60.0])
    found = betabinomial.pmf(units, eta, rho)
    assert found.shape == (4, 49)
    for lot, size in enumerate(units):
        expected = log_pmf(np.arange(size + 1), size, eta[lot], rho)
        assert found[lot, : size + 1] == pytest.approx(np.exp(expected), abs=1e-9)
        assert (found[lot, size + 1 :] == 0).all()
