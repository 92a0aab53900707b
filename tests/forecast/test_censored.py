import numpy as np
import pytest
from scipy.stats import norm

from lots.forecast import censored

INF = np.inf
CASES = np.array(
    [(10.0, 14.0), (0.0, 7.0), (30.0, INF), (20.0, 20.0), (20.0, 20.01), (200.0, 207.0), (1.0, 2.0)]
)
LOW, HIGH = CASES.T
ETA = np.array([2.5, 2.0, 3.2, 2.9, 3.1, 3.0, 3.0])


def by_difference(f, x, step):
    return (f(x + step) - f(x - step)) / (2 * step)


def test_the_values_are_those_of_the_normal_distribution():
    value, _, _ = censored.log_likelihood(LOW, HIGH, ETA, 0.4)
    with np.errstate(divide="ignore"):
        a, b = (np.log(LOW) - ETA) / 0.4, (np.log(HIGH) - ETA) / 0.4
    expected = np.log(norm.cdf(b) - norm.cdf(a), where=LOW != HIGH, out=np.zeros(len(a)))
    expected[3] = norm.logpdf(np.log(20), ETA[3], 0.4) - np.log(20)
    near = [0, 1, 2, 3, 4, 6]
    assert value[near] == pytest.approx(expected[near], rel=1e-9)


def test_gradient_and_hessian_are_exact():
    _, slope, curvature = censored.log_likelihood(LOW, HIGH, ETA, 0.4)
    value = lambda eta: censored.log_likelihood(LOW, HIGH, eta, 0.4)[0]  # noqa: E731
    assert slope == pytest.approx(by_difference(value, ETA, 1e-5), rel=1e-6)
    gradient = lambda eta: censored.log_likelihood(LOW, HIGH, eta, 0.4)[1]  # noqa: E731
    assert curvature == pytest.approx(by_difference(gradient, ETA, 1e-5), rel=1e-5)


@pytest.mark.parametrize("eta", [-40.0, -5.0, 15.0, 60.0])
def test_nothing_breaks_far_out(eta):
    value, slope, curvature = censored.log_likelihood(LOW, HIGH, np.full(len(LOW), eta), 0.1)
    assert np.isfinite([value, slope, curvature]).all()
    assert (curvature <= 0).all()
    # Towards the interval it is uphill.
    assert (slope >= 0).all() if eta < 0 else (slope <= 0).all()


def test_a_narrow_interval_tends_to_the_density():
    low, eta = np.array([25.0]), np.array([3.0])
    exact = censored.log_likelihood(low, low, eta, 0.2)
    narrow = censored.log_likelihood(low, low + 1e-4, eta, 0.2)
    assert narrow[0] - np.log(1e-4) == pytest.approx(exact[0], abs=1e-4)
    assert narrow[1] == pytest.approx(exact[1], rel=1e-4)
    assert narrow[2] == pytest.approx(exact[2], rel=1e-3)
