"""Published data, and fits to it with flat priors: then the model is plain maximum likelihood."""

import csv
from pathlib import Path

import numpy as np
from scipy.optimize import minimize_scalar

from lots.forecast import betabinomial, censored, effects
from lots.forecast.effects import Nest
from lots.forecast.posteriors import Taus
from lots.forecast.sparse import of_dense

DATA = Path(__file__).parent / "data"


def columns(name):
    """The columns of a data file, as arrays of numbers where they are numbers."""
    lines = (DATA / f"{name}.csv").read_text(encoding="utf-8").splitlines()
    rows = list(csv.DictReader(line for line in lines if not line.startswith("#")))
    return {key: _numbers([row[key] for row in rows]) for key in rows[0]}


def _numbers(texts):
    try:
        return np.array([float(text) for text in texts])
    except ValueError:
        return np.array(texts)


def nest(covariates):
    """One flat group, no scatter of varieties or cells to speak of, flat covariates (n, K)."""
    n = len(covariates)
    return Nest(
        cell=np.zeros(n, dtype=int),
        group=np.zeros(1, dtype=int),
        variety=np.zeros(1, dtype=int),
        varieties=1,
        shared=of_dense(covariates),
        offset=np.zeros(n),
        group_sd=np.array([np.inf]),
    )


def best(likelihood, covariates, bounds):
    """(log scale, mode): the scale where `likelihood(eta, log_scale)` is greatest."""

    flat = np.zeros((covariates.shape[1], covariates.shape[1]))

    def mode(log_scale):
        return effects.find_mode(
            nest(covariates), Taus(1e-7, 1e-7), flat, lambda eta: likelihood(eta, np.exp(log_scale))
        )

    found = minimize_scalar(
        lambda log_scale: -mode(log_scale).log_likelihood,
        bounds=bounds,
        method="bounded",
        options={"xatol": 1e-9},
    )
    return found.x, mode(found.x)


def lognormal(low, high, covariates=None):
    """Intercept, coefficients, σ and log-likelihood of a censored log-normal regression."""
    covariates = np.zeros((len(low), 0)) if covariates is None else covariates
    log_sigma, mode = best(
        lambda eta, sigma: censored.log_likelihood(low, high, eta, sigma), covariates, (-3, 3)
    )
    p = mode.posterior
    return p.core[0] + p.variety[0] + p.cell[0], p.shared, np.exp(log_sigma), mode.log_likelihood


def beta_binomial(units, taken, covariates=None):
    """The same with a beta-binomial: intercept, coefficients, ρ, log-likelihood, mode."""
    units, taken = units.astype(int), taken.astype(int)
    covariates = np.zeros((len(units), 0)) if covariates is None else covariates
    counts = betabinomial.counted(units, taken, taken)
    log_rho, mode = best(
        lambda eta, rho: betabinomial.log_likelihood(counts, eta, rho),
        covariates,
        (-12, -0.1),
    )
    p = mode.posterior
    return p.core[0] + p.variety[0] + p.cell[0], p.shared, np.exp(log_rho), mode
