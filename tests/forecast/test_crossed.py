import numpy as np
import pytest
from scipy.sparse import csr_array
from scipy.stats import norm

from lots.forecast import betabinomial, censored, crossed, effects
from lots.forecast.effects import Nest
from lots.forecast.posteriors import Taus
from lots.forecast.sparse import of_dense


def nested(seed=3, rows=60):
    """The same effects as a nest and as columns."""
    rng = np.random.default_rng(seed)
    group, variety = np.array([0, 0, 1, 1, 1]), np.array([0, 1, 0, 1, 2])
    cell = rng.integers(0, 5, rows)
    shared = rng.standard_normal((rows, 2))
    offset = rng.normal(3.5, 0.1, rows)
    nest = Nest(cell, group, variety, 3, of_dense(shared), offset, np.array([0.3, 0.5]))
    one_hot = [np.eye(size)[of] for size, of in ((5, cell), (3, variety[cell]), (2, group[cell]))]
    design = csr_array(np.hstack([*one_hot, shared]))
    sd = np.concatenate([np.full(5, 0.1), np.full(3, 0.2), [0.3, 0.5], [0.2, 0.4]])
    return nest, design, sd, offset, rng


@pytest.mark.parametrize("model", ["days", "takes"])
def test_effects_that_nest_come_out_as_by_the_nest(model):
    nest, design, sd, offset, rng = nested()
    if model == "days":
        low = np.round(np.exp(offset + 0.15 * rng.standard_normal(len(offset))))
        high = np.where(rng.uniform(size=len(low)) < 0.3, np.inf, low + 7)
        likelihood = lambda eta: censored.log_likelihood(low, high, eta, 0.15)  # noqa: E731
    else:
        units = np.full(len(offset), 40)
        taken = rng.binomial(units, 0.8)
        counts = betabinomial.counted(units, taken, np.minimum(taken + 3, units))
        likelihood = lambda eta: betabinomial.log_likelihood(counts, eta - 2, 0.08)  # noqa: E731
    by_nest = effects.find_mode(nest, Taus(0.2, 0.1), np.diag([0.2**-2, 0.4**-2]), likelihood)
    found = crossed.find_mode(design, sd, offset, likelihood)
    posterior = by_nest.posterior
    assert found.log_evidence == pytest.approx(by_nest.log_evidence, abs=1e-6)
    assert found.effects == pytest.approx(
        np.concatenate([posterior.cell, posterior.variety, posterior.core]), abs=1e-6
    )
    _, covariance = found.moments(np.eye(12)[8:])
    assert covariance == pytest.approx(posterior.core_cov, abs=1e-8)


def test_gaussian_rows_give_what_linear_algebra_does():
    """Exact times are Gaussian in η: mean, covariance and evidence have closed forms."""
    rng = np.random.default_rng(1)
    plant, method = rng.integers(0, 4, 30), rng.integers(0, 2, 30)
    design = np.hstack([np.eye(4)[plant], np.eye(2)[method]])
    sd, sigma = np.array([0.2] * 4 + [0.5] * 2), 0.1
    offset = np.full(30, 3.0)
    log_days = offset + design @ rng.normal(0, sd) + sigma * rng.standard_normal(30)
    days = np.exp(log_days)
    found = crossed.find_mode(
        csr_array(design), sd, offset, lambda eta: censored.log_likelihood(days, days, eta, sigma)
    )
    spread = design @ np.diag(sd**2) @ design.T + sigma**2 * np.eye(30)
    gain = np.diag(sd**2) @ design.T @ np.linalg.inv(spread)
    rows = np.array([[1.0, 0, 0, 0, 1, 0], [0, 0, 0, 0, 1, -1]])
    mean, covariance = found.moments(rows)
    assert mean == pytest.approx(rows @ gain @ (log_days - offset), abs=1e-9)
    exact = rows @ (np.diag(sd**2) - gain @ design @ np.diag(sd**2)) @ rows.T
    assert covariance == pytest.approx(exact, abs=1e-12)
    left = log_days - offset
    log_density = -0.5 * (left @ np.linalg.solve(spread, left) + np.linalg.slogdet(spread)[1])
    # The density of days, not of log days.
    log_density += 30 * norm.logpdf(0) - log_days.sum()
    assert found.log_evidence == pytest.approx(log_density, abs=1e-8)


def test_a_slope_that_leads_nowhere_is_told():
    def promising(eta):
        return np.zeros(3), np.ones(3), np.zeros(3)

    with pytest.raises(effects.NoConvergence, match="3 rows"):
        crossed.find_mode(csr_array(np.eye(3)), np.ones(3), np.zeros(3), promising)
