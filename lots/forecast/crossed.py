"""Crossed effects with Gaussian priors, found by Newton's method on a sparse matrix.

As in `effects`, η = offset + design · effects and Laplace's approximation gives the evidence, but
the effects of a row need not nest: its method and its stock plant, say. For the few thousand lots
of a crop group; `effects` does 50,000 that nest as quickly.
"""

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import scipy

from lots.forecast.arrays import Floats
from lots.forecast.effects import Likelihood, newton

if TYPE_CHECKING:
    from scipy.sparse import csr_array
    from scipy.sparse.linalg import SuperLU


@dataclass(frozen=True, slots=True)
class Mode:
    """The most likely effects (p,), the log evidence, and the factors of the matrix of second
    derivatives there."""

    effects: Floats
    log_evidence: float
    factors: "SuperLU"

    def moments(self, rows: Floats) -> tuple[Floats, Floats]:
        """Posterior mean (m,) and covariance (m, m) of rows · effects, `rows` being (m, p)."""
        return rows @ self.effects, rows @ self.factors.solve(np.ascontiguousarray(rows.T))


def find_mode(
    design: "csr_array",
    sd: Floats,
    offset: Floats,
    likelihood: Likelihood,
    start: Floats | None = None,
) -> Mode:
    """The mode for a design (n, p) of effects with prior standard deviations `sd` (p,).

    Rows whose log-likelihood curves upwards count as flat there, which keeps each step uphill.
    Raises NoConvergence.
    """
    precision = sd**-2.0
    prior = scipy.sparse.diags_array(precision)
    turned = scipy.sparse.csr_array(design.T)

    def eta_of(at: Floats) -> Floats:
        return np.asarray(offset + design @ at)

    def pull_of(at: Floats) -> Floats:
        return at * precision

    def step(slope: Floats, weight: Floats, pull: Floats) -> tuple[Floats, Floats, "SuperLU"]:
        factors = scipy.sparse.linalg.splu(
            scipy.sparse.csc_array(turned @ scipy.sparse.diags_array(weight) @ design + prior),
            permc_spec="MMD_AT_PLUS_A",
            diag_pivot_thresh=0.0,
            options={"SymmetricMode": True},
        )
        gradient = turned @ slope - pull
        return gradient, factors.solve(gradient), factors

    start_at = np.zeros(len(sd)) if start is None else start
    rows = f"{design.shape[0]} rows"
    at, log_posterior, factors = newton(
        start_at, lambda at: at * precision, eta_of, likelihood, step, rows
    )
    log_det = float(np.log(np.abs(factors.U.diagonal())).sum())
    evidence = log_posterior + 0.5 * (float(np.log(precision).sum()) - log_det)
    return Mode(at, evidence, factors)
