"""Crossed effects with Gaussian priors, found by Newton's method on a sparse matrix.

As in `effects`, η = offset + design · effects and Laplace's approximation gives the evidence, but
the effects of a row need not nest: its method and its stock plant, say. For the few thousand lots
of a crop group; `effects` does 50,000 that nest as quickly.
"""

from dataclasses import dataclass

import numpy as np
from scipy.sparse import csc_array, csr_array, diags_array
from scipy.sparse.linalg import SuperLU, splu

from lots.forecast.arrays import Floats
from lots.forecast.effects import NEWTON_STEPS, TOLERANCE, Likelihood, NoConvergence


@dataclass(frozen=True, slots=True)
class Mode:
    """The most likely effects (p,), the log evidence, and the factors of the matrix of second
    derivatives there."""

    effects: Floats
    log_evidence: float
    factors: SuperLU

    def moments(self, rows: Floats) -> tuple[Floats, Floats]:
        """Posterior mean (m,) and covariance (m, m) of rows · effects, `rows` being (m, p)."""
        return rows @ self.effects, rows @ self.factors.solve(np.ascontiguousarray(rows.T))


def find_mode(
    design: csr_array,
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
    prior = diags_array(precision)
    turned = csr_array(design.T)

    def look(at: Floats) -> tuple[Floats, Floats, float]:
        value, slope, bend = likelihood(offset + design @ at)
        return slope, bend, float(value.sum() - (at**2 * precision).sum() / 2)

    at = np.zeros(len(sd)) if start is None else start
    slope, bend, height = look(at)
    for _ in range(NEWTON_STEPS):
        weight = diags_array(np.maximum(-bend, 0.0))
        factors = splu(
            csc_array(turned @ weight @ design + prior),
            permc_spec="MMD_AT_PLUS_A",
            diag_pivot_thresh=0.0,
            options={"SymmetricMode": True},
        )
        gradient = turned @ slope - at * precision
        step = factors.solve(gradient)
        if gradient @ step < TOLERANCE * (1 + abs(height)):
            log_det = float(np.log(np.abs(factors.U.diagonal())).sum())
            evidence = height + 0.5 * (float(np.log(precision).sum()) - log_det)
            return Mode(at, evidence, factors)
        share = 1.0
        while True:
            slope, bend, new_height = look(at + share * step)
            if new_height > height or share < 1e-6:
                break
            share /= 2
        at, height = at + share * step, new_height
    raise NoConvergence(f"No mode after {NEWTON_STEPS} steps: {design.shape[0]} rows.")
