import numpy as np
import pytest
from scipy.integrate import dblquad
from scipy.stats import multivariate_normal

from lots.forecast import censored, effects, posteriors
from lots.forecast.effects import Nest
from lots.forecast.posteriors import Taus
from lots.forecast.sparse import of_dense

# Cells of three groups and four varieties; two varieties stand in two groups.
GROUP = np.array([0, 0, 1, 2, 2, 2])
VARIETY = np.array([0, 1, 0, 1, 2, 3])
TAUS, SIGMA = Taus(variety=0.25, cell=0.15), 0.2
SHARED_SD = np.array([0.25, 0.3])
PRECISION = np.diag(SHARED_SD**-2.0)


def nest_of(rng, rows=60):
    return Nest(
        cell=np.sort(rng.integers(0, len(GROUP), rows)),
        group=GROUP,
        variety=VARIETY,
        varieties=4,
        shared=of_dense(np.column_stack([np.ones(rows), rng.standard_normal(rows)])),
        offset=rng.normal(3, 0.1, rows),
        group_sd=np.array([0.4, 0.5, 0.6]),
    )


def dense(nest):
    """Design (n, p) and prior precision (p,), in the order groups, shared, varieties, cells."""

    def of(place, size):
        return (place[:, None] == np.arange(size)).astype(float)

    parts = [
        (of(nest.group[nest.cell], 3), nest.group_sd),
        (nest.shared.dense(), SHARED_SD),
        (of(nest.variety[nest.cell], 4), np.full(4, TAUS.variety)),
        (of(nest.cell, 6), np.full(6, TAUS.cell)),
    ]
    return np.hstack([x for x, _ in parts]), np.concatenate([sd for _, sd in parts]) ** -2.0


def effects_of(found):
    return np.concatenate([found.core, found.variety, found.cell])


def covariance_of(nest, likelihood, eta):
    x, precision = dense(nest)
    return np.linalg.inv(x.T * -likelihood(eta)[2] @ x + np.diag(precision))


def exactly(days):
    return lambda eta: censored.log_likelihood(days, days, eta, SIGMA)


def loosely(rng, nest):
    low = np.exp(nest.offset + rng.normal(0, 0.4, len(nest.cell)))
    high = np.where(rng.uniform(size=len(low)) < 0.3, np.inf, low * 1.3)
    return lambda eta: censored.log_likelihood(low, high, eta, SIGMA)


def test_with_times_known_exactly_the_evidence_is_the_multivariate_normal_density():
    rng = np.random.default_rng(1)
    nest = nest_of(rng)
    x, precision = dense(nest)
    days = np.exp(nest.offset + rng.normal(0, 0.4, len(x)))
    found = effects.find_mode(nest, TAUS, PRECISION, exactly(days))
    covariance = x / precision @ x.T + SIGMA**2 * np.eye(len(x))
    expected = multivariate_normal.logpdf(np.log(days), nest.offset, covariance)
    assert found.log_evidence == pytest.approx(expected - np.log(days).sum(), abs=1e-6)


def test_the_mode_is_flat_and_the_posterior_is_the_dense_one():
    rng = np.random.default_rng(2)
    nest = nest_of(rng)
    likelihood = loosely(rng, nest)
    mode = effects.find_mode(nest, TAUS, PRECISION, likelihood)
    x, precision = dense(nest)
    at = effects_of(mode.posterior)
    assert mode.eta == pytest.approx(nest.offset + x @ at)
    _, slope, _ = likelihood(mode.eta)
    assert x.T @ slope - precision * at == pytest.approx(0, abs=1e-3)
    covariance = covariance_of(nest, likelihood, mode.eta)
    assert mode.posterior.core_cov == pytest.approx(covariance[:5, :5], rel=1e-6)
    group, variety = nest.group[nest.cell], nest.variety[nest.cell]
    rows = posteriors.weights(
        mode.posterior, TAUS, group, variety, nest.cell, nest.shared.dense(), np.ones(len(x))
    )
    assert nest.offset + rows.mean == pytest.approx(mode.eta)
    expected = np.einsum("ij,jk,ik->i", x, covariance, x)
    assert posteriors.variance(rows, mode.posterior) == pytest.approx(expected, rel=1e-6)


def test_what_is_new_has_its_prior_scatter_and_leans_on_what_is_known():
    rng = np.random.default_rng(3)
    nest = nest_of(rng)
    likelihood = loosely(rng, nest)
    mode = effects.find_mode(nest, TAUS, PRECISION, likelihood)
    covariance = covariance_of(nest, likelihood, mode.eta)
    at = effects_of(mode.posterior)
    shared = np.array([1.0, 0.7])
    # A known variety by a method that is new to it; a new variety; a new group.
    group, variety = np.array([2, 2, -1]), np.array([0, -1, -1])
    rows = posteriors.weights(
        mode.posterior,
        TAUS,
        group,
        variety,
        np.full(3, -1),
        np.tile(shared, (3, 1)),
        np.array([9.0, 9.0, 0.5]),
    )
    x = np.zeros((3, 15))
    x[:, 3:5] = shared
    x[:2, 2] = 1
    x[0, 5] = 1
    own = [0, TAUS.variety**2, TAUS.variety**2 + 0.5**2]
    expected = np.einsum("ij,jk,ik->i", x, covariance, x) + TAUS.cell**2 + own
    assert rows.mean == pytest.approx(x @ at)
    assert posteriors.variance(rows, mode.posterior) == pytest.approx(expected, rel=1e-6)


def test_draws_have_the_posterior_mean_and_covariance():
    rng = np.random.default_rng(4)
    nest = nest_of(rng)
    likelihood = loosely(rng, nest)
    mode = effects.find_mode(nest, TAUS, PRECISION, likelihood)
    x, _ = dense(nest)
    covariance = covariance_of(nest, likelihood, mode.eta)
    some = [0, 1, 20, 40, 59]
    cell = nest.cell[some]
    group, variety = nest.group[cell], nest.variety[cell]
    rows = posteriors.weights(
        mode.posterior, TAUS, group, variety, cell, nest.shared.dense()[some], np.ones(5)
    )
    draws = posteriors.draw(rows, mode.posterior, variety, cell, 100_000, rng)
    expected = x[some] @ covariance @ x[some].T
    assert draws.mean(axis=0) == pytest.approx(rows.mean, abs=0.005)
    assert np.cov(draws.T) == pytest.approx(expected, abs=0.03 * expected.max())


def test_the_evidence_and_the_mean_are_near_brute_quadrature():
    """One kind, few censored lots: the hardest case for Laplace's approximation."""
    low = np.array([20.0, 25.0, 30.0, 40.0])
    high = np.array([27.0, 32.0, np.inf, np.inf])
    nest = Nest(
        cell=np.zeros(4, dtype=int),
        group=np.zeros(1, dtype=int),
        variety=np.zeros(1, dtype=int),
        varieties=1,
        shared=of_dense(np.zeros((4, 0))),
        offset=np.full(4, 3.2),
        group_sd=np.array([0.4]),
    )
    likelihood = lambda eta: censored.log_likelihood(low, high, eta, SIGMA)  # noqa: E731
    mode = effects.find_mode(nest, TAUS, np.zeros((0, 0)), likelihood)

    tau = np.hypot(TAUS.variety, TAUS.cell)

    def joint(beta, alpha):
        eta = np.full(4, 3.2 + alpha + beta)
        prior = np.exp(-0.5 * ((beta / tau) ** 2 + (alpha / 0.4) ** 2)) / (2 * np.pi * tau * 0.4)
        return prior * np.exp(censored.log_likelihood(low, high, eta, SIGMA)[0].sum())

    def integral(f):
        return dblquad(f, -2, 2, -1.5, 1.5, epsabs=1e-8)[0]

    evidence = integral(joint)
    mean = integral(lambda b, a: (3.2 + a + b) * joint(b, a)) / evidence
    square = integral(lambda b, a: (3.2 + a + b) ** 2 * joint(b, a)) / evidence
    first = np.zeros(1, dtype=int)
    rows = posteriors.weights(
        mode.posterior, TAUS, first, first, first, np.zeros((1, 0)), np.ones(1)
    )
    sd = np.sqrt(square - mean**2)
    assert mode.log_evidence == pytest.approx(np.log(evidence), abs=0.03)
    assert 3.2 + rows.mean[0] == pytest.approx(mean, abs=0.1 * sd)
    assert np.sqrt(posteriors.variance(rows, mode.posterior)[0]) == pytest.approx(sd, rel=0.1)


def test_what_cannot_settle_says_so():
    nest = nest_of(np.random.default_rng(5))
    # It claims to curve so much that each step is tiny, and goes on rising all the same.
    endless = lambda eta: (eta, np.ones_like(eta), np.full_like(eta, -1e6))  # noqa: E731
    with pytest.raises(effects.NoConvergence, match="No mode after"):
        effects.find_mode(nest, TAUS, PRECISION, endless)
