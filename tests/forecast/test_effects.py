import numpy as np
import pytest
from scipy.integrate import dblquad
from scipy.stats import multivariate_normal

from lots.forecast import censored, effects
from lots.forecast.effects import Nest

GROUP = np.array([0, 0, 1, 2, 2, 2])
TAU, SIGMA = 0.3, 0.2


def nest_of(rng, rows=60):
    return Nest(
        cell=np.sort(rng.integers(0, len(GROUP), rows)),
        group=GROUP,
        shared=np.column_stack([np.ones(rows), rng.standard_normal(rows)]),
        offset=rng.normal(3, 0.1, rows),
        group_sd=np.array([0.4, 0.5, 0.6]),
        shared_sd=np.array([0.25, 0.3]),
    )


def dense(nest, tau):
    """Design (n, p) and prior precision (p,), in the order cells, groups, shared."""
    n = len(nest.cell)
    cells, groups = np.zeros((n, len(nest.group))), np.zeros((n, len(nest.group_sd)))
    cells[np.arange(n), nest.cell] = 1
    groups[np.arange(n), nest.group[nest.cell]] = 1
    precision = [np.full(cells.shape[1], tau**-2.0), nest.group_sd**-2.0, nest.shared_sd**-2.0]
    return np.hstack([cells, groups, nest.shared]), np.concatenate(precision)


def exactly(days):
    return lambda eta: censored.log_likelihood(days, days, eta, SIGMA)


def loosely(rng, nest):
    low = np.exp(nest.offset + rng.normal(0, 0.4, len(nest.cell)))
    high = np.where(rng.uniform(size=len(low)) < 0.3, np.inf, low * 1.3)
    return lambda eta: censored.log_likelihood(low, high, eta, SIGMA)


def test_with_times_known_exactly_the_evidence_is_the_multivariate_normal_density():
    rng = np.random.default_rng(1)
    nest = nest_of(rng)
    x, precision = dense(nest, TAU)
    days = np.exp(nest.offset + rng.normal(0, 0.4, len(x)))
    found = effects.find_mode(nest, TAU, exactly(days))
    covariance = x / precision @ x.T + SIGMA**2 * np.eye(len(x))
    expected = multivariate_normal.logpdf(np.log(days), nest.offset, covariance)
    assert found.log_evidence == pytest.approx(expected - np.log(days).sum(), abs=1e-6)


def test_the_mode_is_flat_and_the_posterior_is_the_dense_one():
    rng = np.random.default_rng(2)
    nest = nest_of(rng)
    likelihood = loosely(rng, nest)
    found = effects.find_mode(nest, TAU, likelihood)
    posterior = found.posterior
    x, precision = dense(nest, TAU)
    at = np.concatenate([posterior.cell, posterior.group, posterior.shared])
    assert found.eta == pytest.approx(nest.offset + x @ at)
    _, slope, bend = likelihood(found.eta)
    assert x.T @ slope - precision * at == pytest.approx(0, abs=1e-3)
    covariance = np.linalg.inv(x.T * -bend @ x + np.diag(precision))
    rows = effects.weights(
        posterior, TAU, nest.group[nest.cell], nest.cell, nest.shared, np.ones(len(x))
    )
    assert nest.offset + rows.mean == pytest.approx(found.eta)
    expected = np.einsum("ij,jk,ik->i", x, covariance, x)
    assert effects.variance(rows, posterior) == pytest.approx(expected, rel=1e-6)


def test_new_cells_and_groups_have_their_prior_scatter():
    rng = np.random.default_rng(3)
    nest = nest_of(rng)
    likelihood = loosely(rng, nest)
    posterior = effects.find_mode(nest, TAU, likelihood).posterior
    x, precision = dense(nest, TAU)
    eta = nest.offset + x @ np.concatenate([posterior.cell, posterior.group, posterior.shared])
    covariance = np.linalg.inv(x.T * -likelihood(eta)[2] @ x + np.diag(precision))
    shared = np.array([[1.0, 0.7], [1.0, 0.7]])
    rows = effects.weights(
        posterior, TAU, np.array([2, -1]), np.array([-1, -1]), shared, np.array([9.0, 0.5])
    )
    z = np.concatenate([np.zeros(6), [0, 0, 1], shared[0]])
    new_cell = z @ covariance @ z + TAU**2
    new_group = shared[1] @ covariance[-2:, -2:] @ shared[1] + 0.5**2 + TAU**2
    assert effects.variance(rows, posterior) == pytest.approx([new_cell, new_group], rel=1e-6)


def test_draws_have_the_posterior_mean_and_covariance():
    rng = np.random.default_rng(4)
    nest = nest_of(rng)
    likelihood = loosely(rng, nest)
    mode = effects.find_mode(nest, TAU, likelihood)
    x, precision = dense(nest, TAU)
    covariance = np.linalg.inv(x.T * -likelihood(mode.eta)[2] @ x + np.diag(precision))
    some = [0, 1, 20, 40, 59]
    group, cell = nest.group[nest.cell[some]], nest.cell[some]
    rows = effects.weights(mode.posterior, TAU, group, cell, nest.shared[some], np.ones(5))
    draws = effects.draw(rows, mode.posterior, group.astype(str), cell.astype(str), 100_000, rng)
    expected = x[some] @ covariance @ x[some].T
    assert draws.mean(axis=0) == pytest.approx(rows.mean, abs=0.005)
    assert np.cov(draws.T) == pytest.approx(expected, abs=0.03 * expected.max())


def test_the_evidence_and_the_mean_are_near_brute_quadrature():
    """Two effects, few censored lots: the hardest case for Laplace's approximation."""
    low = np.array([20.0, 25.0, 30.0, 40.0])
    high = np.array([27.0, 32.0, np.inf, np.inf])
    nest = Nest(
        cell=np.zeros(4, dtype=int),
        group=np.zeros(1, dtype=int),
        shared=np.zeros((4, 0)),
        offset=np.full(4, 3.2),
        group_sd=np.array([0.4]),
        shared_sd=np.zeros(0),
    )
    mode = effects.find_mode(nest, TAU, lambda eta: censored.log_likelihood(low, high, eta, SIGMA))

    def joint(beta, alpha):
        eta = np.full(4, 3.2 + alpha + beta)
        prior = np.exp(-0.5 * ((beta / TAU) ** 2 + (alpha / 0.4) ** 2)) / (2 * np.pi * TAU * 0.4)
        return prior * np.exp(censored.log_likelihood(low, high, eta, SIGMA)[0].sum())

    box = (-2, 2, -1.5, 1.5)
    evidence = dblquad(joint, *box, epsabs=1e-9)[0]
    mean = dblquad(lambda b, a: (3.2 + a + b) * joint(b, a), *box, epsabs=1e-9)[0] / evidence
    square = dblquad(lambda b, a: (3.2 + a + b) ** 2 * joint(b, a), *box, epsabs=1e-9)[0] / evidence
    rows = effects.weights(
        mode.posterior, TAU, np.zeros(1, int), np.zeros(1, int), np.zeros((1, 0)), np.ones(1)
    )
    sd = np.sqrt(square - mean**2)
    assert mode.log_evidence == pytest.approx(np.log(evidence), abs=0.03)
    assert 3.2 + rows.mean[0] == pytest.approx(mean, abs=0.1 * sd)
    assert np.sqrt(effects.variance(rows, mode.posterior)[0]) == pytest.approx(sd, rel=0.1)


def test_what_cannot_settle_says_so():
    nest = nest_of(np.random.default_rng(5))
    # It claims to curve so much that each step is tiny, and goes on rising all the same.
    endless = lambda eta: (eta, np.ones_like(eta), np.full_like(eta, -1e6))  # noqa: E731
    with pytest.raises(effects.NoConvergence, match="No mode after"):
        effects.find_mode(nest, TAU, endless)
