"""Levels that move, and groups that scatter, against published figures and a reference library."""

import numpy as np
import pandas as pd
import pytest
from scipy.optimize import minimize
from statsmodels.datasets import nile
from statsmodels.regression.mixed_linear_model import MixedLM
from statsmodels.tsa.statespace.structural import UnobservedComponents

from lots.forecast import censored, drift, effects
from lots.forecast.effects import Nest
from lots.forecast.posteriors import Taus
from lots.forecast.sparse import Sparse

# What the model takes is a time; its logarithm is what is normal. Volumes in thousands keep it in
# range.
UNIT = 1000.0
FIRST_YEAR = 1871


def volumes():
    return nile.load_pandas().data["volume"].to_numpy() / UNIT


def one_group(shared):
    n = len(shared.columns)
    return Nest(
        cell=np.zeros(n, dtype=int),
        group=np.zeros(1, dtype=int),
        variety=np.zeros(1, dtype=int),
        varieties=1,
        shared=shared,
        offset=np.zeros(n),
        group_sd=np.array([np.inf]),
    )


def mode(y, shared, precision, sigma):
    times = np.exp(y)
    return effects.find_mode(
        one_group(shared),
        Taus(1e-6, 1e-6),
        precision,
        lambda eta: censored.log_likelihood(times, times, eta, sigma),
    )


def level(sigma, walk):
    """The mode of a local level, a knot a year."""
    y = volumes()
    years = np.arange(len(y)) * drift.QUARTER
    knots = drift.columns(years, 0.0, len(y))
    return mode(y, knots, drift.precision(len(y), walk, 0.0), sigma)


def test_the_variances_of_the_nile_are_the_published_ones():
    """Durbin and Koopman 2012, Time Series Analysis by State Space Methods, section 2.10: 15,099
    for the irregular and 1,469 for the level."""
    found = minimize(
        lambda logs: -level(*np.exp(logs)).log_evidence,
        np.log([0.1, 0.05]),
        method="Nelder-Mead",
        options={"xatol": 1e-4, "fatol": 1e-6},
    )
    irregular, steps = np.exp(found.x) ** 2 * UNIT**2
    assert irregular == pytest.approx(15_099, rel=0.003)
    assert steps == pytest.approx(1_469, rel=0.01)


def test_the_level_of_the_nile_and_its_evidence_are_the_librarys():
    """statsmodels 0.15 on the same variances; the level falls after 1898, as is well known."""
    sigma, walk = np.sqrt([15_099, 1_469]) / UNIT
    found = level(sigma, walk)
    levels = found.posterior.core[0] + found.posterior.shared
    y = volumes()
    library = UnobservedComponents(y, "local level")
    smoothed = library.smooth([sigma**2, walk**2])
    assert levels == pytest.approx(smoothed.smoothed_state[0], abs=1e-4)
    year = np.arange(len(y)) + FIRST_YEAR
    fall = levels[year <= 1898].mean() - levels[year > 1898].mean()
    assert UNIT * fall == pytest.approx(225, abs=25)
    other = 2 * sigma, walk / 2
    difference = level(*other).log_evidence - found.log_evidence
    expected = library.loglike([other[0] ** 2, other[1] ** 2]) - library.loglike(
        [sigma**2, walk**2]
    )
    assert difference == pytest.approx(expected, abs=0.01)


def test_how_far_houses_lie_apart_is_what_a_mixed_model_says():
    """statsmodels 0.15, restricted maximum likelihood, on complete invented data."""
    rng = np.random.default_rng(4)
    house = np.repeat(np.arange(8), 12)
    y = 3.5 + rng.normal(0, 0.12, 8)[house] + rng.normal(0, 0.15, len(house))
    library = MixedLM.from_formula(
        "y ~ 1", groups="house", data=pd.DataFrame({"y": y, "house": house})
    )
    expected = library.fit(reml=True)
    shared = Sparse(house[:, None], np.ones((len(y), 1)), 8)

    def height(logs):
        sigma, tau = np.exp(logs)
        return -mode(y, shared, np.eye(8) * tau**-2, sigma).log_evidence

    found = minimize(height, np.log([0.2, 0.1]), method="Nelder-Mead")
    sigma, tau = np.exp(found.x)
    assert sigma**2 == pytest.approx(expected.scale, rel=1e-3)
    assert tau**2 == pytest.approx(expected.cov_re.iloc[0, 0], rel=1e-2)
