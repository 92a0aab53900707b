"""Nested effects with Gaussian priors, found by Newton's method, with Laplace's approximation.

The linear predictor of row i (one lot, say) is

    η_i = offset_i + α[group of i] + γ[variety of i] + β[cell of i] + shared_i · s,
    α_g ~ N(0, sd_g²),  γ_v ~ N(0, τ_variety²),  β_c ~ N(0, τ_cell²),  s_k ~ N(0, sd_k²),

a group being a crop group by a method, and a cell a variety by a method. Each cell lies in one
group and in one variety, so given those the cells are independent, and given the groups and the
few shared effects (together: the core) so are the varieties. The matrix of second derivatives is
an arrow within an arrow: eliminating cells, then varieties, costs time and memory linear in rows.
The evidence is Laplace's (Tierney and Kadane 1986, J. Am. Statist. Assoc. 81:82-86; Rasmussen and
Williams 2006, Gaussian Processes for Machine Learning, section 3.4).
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from lots.forecast.arrays import Floats, Ints
from lots.forecast.posteriors import Posterior, Taus

# Of the effects: cells (C,), varieties (V,), and the core, which is groups and shared (G + K,).
type Parts = tuple[Floats, Floats, Floats]

# Per row at η: log-likelihood, its first and its second derivative.
type Likelihood = Callable[[Floats], tuple[Floats, Floats, Floats]]

NEWTON_STEPS = 60
# Newton stops when a step would gain less than this part of the log-posterior.
TOLERANCE = 1e-9


class NoConvergence(Exception):
    """Newton's method didn't settle: the data or the scales are beyond the model."""


@dataclass(frozen=True, slots=True)
class Nest:
    """Which row belongs where. n rows, C cells, V varieties, G groups, K shared effects.

    cell: (n,) index of cell; group, variety: (C,) index of each cell's, no two cells having both
    in common; varieties: V; shared: (n, K); offset: (n,) prior mean of η; group_sd: (G,) and
    shared_sd: (K,) prior standard deviations (infinite for a flat prior).
    """

    cell: Ints
    group: Ints
    variety: Ints
    varieties: int
    shared: Floats
    offset: Floats
    group_sd: Floats
    shared_sd: Floats


@dataclass(frozen=True, slots=True)
class Mode:
    """Where Newton's method ended: η per row (n,), log evidence, log-likelihood, posterior."""

    eta: Floats
    log_evidence: float
    log_likelihood: float
    posterior: Posterior


def find_mode(
    nest: Nest, taus: Taus, likelihood: Likelihood, start: Posterior | None = None
) -> Mode:
    """The most likely effects for given scales. Raises NoConvergence.

    Rows whose log-likelihood curves upwards at η count as flat there, which keeps each step
    uphill; for log-concave likelihoods nothing changes.
    """
    cells, groups = len(nest.group), len(nest.group_sd)
    precision = np.concatenate(
        [
            np.full(cells, taus.cell**-2.0),
            np.full(nest.varieties, taus.variety**-2.0),
            np.concatenate([nest.group_sd, nest.shared_sd]) ** -2.0,
        ]
    )
    group_of_row, variety_of_row = nest.group[nest.cell], nest.variety[nest.cell]

    def parts(flat: Floats) -> Parts:
        return flat[:cells], flat[cells : cells + nest.varieties], flat[cells + nest.varieties :]

    def eta_of(at: Floats) -> Floats:
        beta, gamma, core = parts(at)
        eta = nest.offset + beta[nest.cell] + gamma[variety_of_row] + core[group_of_row]
        return np.asarray(eta + nest.shared @ core[groups:])

    def step(slope: Floats, weight: Floats, pull: Floats) -> tuple[Floats, Floats, _Arrow]:
        arrow = _Arrow(nest, parts(precision), weight)
        gradient = np.concatenate(arrow.gather(slope)) - pull
        return gradient, np.concatenate(arrow.solve(*parts(gradient))), arrow

    start_at = (
        np.zeros(len(precision))
        if start is None
        else np.concatenate([start.cell, start.variety, start.core])
    )
    rows = f"{taus}, {len(nest.cell)} rows"
    at, log_posterior, arrow = newton(start_at, precision, eta_of, likelihood, step, rows)
    log_prior = float(np.log(precision[precision > 0]).sum())
    return Mode(
        eta=eta_of(at),
        log_evidence=log_posterior + 0.5 * (log_prior - arrow.log_det),
        log_likelihood=log_posterior + float(at**2 @ precision) / 2,
        posterior=arrow.posterior(*parts(at)),
    )


def newton[F](
    at: Floats,
    precision: Floats,
    eta_of: Callable[[Floats], Floats],
    likelihood: Likelihood,
    step: Callable[[Floats, Floats, Floats], tuple[Floats, Floats, F]],
    rows: str,
) -> tuple[Floats, float, F]:
    """Newton's method from effects `at` (p,), of prior `precision` (p,): the most likely effects,
    the log-posterior there, and the factors of the last step.

    eta_of: η (n,) at effects; step: from the slope and the weight of each row (n,) and the pull of
    the prior (p,), the gradient (p,), the step (p,) and what it was factored into; rows: words for
    the fault. Raises NoConvergence.
    """

    def evaluate(at: Floats) -> tuple[float, Floats, Floats]:
        value, slope, curvature = likelihood(eta_of(at))
        return float(value.sum()) - float(at**2 @ precision) / 2, slope, curvature

    log_posterior, slope, curvature = evaluate(at)
    for _ in range(NEWTON_STEPS):
        gradient, direction, factors = step(slope, np.maximum(-curvature, 0.0), at * precision)
        if float(gradient @ direction) < TOLERANCE * (1 + abs(log_posterior)):
            return at, log_posterior, factors
        share = 1.0
        while True:
            new = at + share * direction
            new_value, slope, curvature = evaluate(new)
            if new_value > log_posterior or share < 1e-6:
                break
            share /= 2
        at, log_posterior = new, new_value
    raise NoConvergence(f"No mode after {NEWTON_STEPS} steps: {rows}.")


class _Arrow:
    """The negative Hessian of the log-posterior, eliminated: cells first, then varieties.

    w: (n,) minus the second derivative of each row's log-likelihood.
    """

    def __init__(self, nest: Nest, precision: Parts, w: Floats) -> None:
        self.nest = nest
        cells, groups = len(nest.group), len(nest.group_sd)
        wz = nest.shared * w[:, None]
        cell_w, cell_z = np.bincount(nest.cell, w, cells), _sum_columns(nest.cell, wz, cells)
        self.cell_var = 1 / (cell_w + precision[0])
        self.cell_pull = np.column_stack([cell_w, cell_z]) * self.cell_var[:, None]
        # What a cell leaves to others once it has taken its own part: W - W²/D = W/(τ² D).
        left = self.cell_var * precision[0]
        left_w, left_z = cell_w * left, cell_z * left[:, None]
        self.variety_var = 1 / (np.bincount(nest.variety, left_w, nest.varieties) + precision[1])
        tie = np.zeros((nest.varieties, len(precision[2])))
        tie[nest.variety, nest.group] = left_w
        tie[:, groups:] = _sum_columns(nest.variety, left_z, nest.varieties)
        self.variety_pull = tie * self.variety_var[:, None]
        core = np.diag(precision[2])
        core[np.arange(groups), np.arange(groups)] += np.bincount(nest.group, left_w, groups)
        core[:groups, groups:] = _sum_columns(nest.group, left_z, groups)
        core[groups:, :groups] = core[:groups, groups:].T
        core[groups:, groups:] += nest.shared.T @ wz - cell_z.T @ self.cell_pull[:, 1:]
        core -= tie.T @ self.variety_pull
        self.core_cov = np.linalg.inv(core)
        self.log_det = float(
            np.linalg.slogdet(core)[1]
            - np.log(self.cell_var).sum()
            - np.log(self.variety_var).sum()
        )

    def gather(self, slope: Floats) -> Parts:
        """Sum the rows' (n,) slopes by cell, variety and core."""
        nest = self.nest
        at_cell = np.bincount(nest.cell, slope, len(nest.group))
        return (at_cell, *self._onward(at_cell, nest.shared.T @ slope))

    def solve(self, cell: Floats, variety: Floats, core: Floats) -> Parts:
        """Solve H x = gradient, given the gradient's three parts."""
        nest, pull = self.nest, self.cell_pull
        taken = self._onward(pull[:, 0] * cell, pull[:, 1:].T @ cell)
        variety = variety - taken[0]
        x = self.core_cov @ (core - taken[1] - self.variety_pull.T @ variety)
        gamma = self.variety_var * variety - self.variety_pull @ x
        above = x[nest.group] + gamma[nest.variety]
        shared = x[len(nest.group_sd) :]
        return self.cell_var * cell - pull[:, 0] * above - pull[:, 1:] @ shared, gamma, x

    def _onward(self, at_cell: Floats, shared: Floats) -> tuple[Floats, Floats]:
        nest = self.nest
        by_group = np.bincount(nest.group, at_cell, len(nest.group_sd))
        by_variety = np.bincount(nest.variety, at_cell, nest.varieties)
        return by_variety, np.concatenate([by_group, shared])

    def posterior(self, cell: Floats, variety: Floats, core: Floats) -> Posterior:
        return Posterior(
            core=core,
            core_cov=self.core_cov,
            variety=variety,
            variety_var=self.variety_var,
            variety_pull=self.variety_pull,
            cell=cell,
            cell_var=self.cell_var,
            cell_pull=self.cell_pull,
        )


def _sum_columns(place: Ints, values: Floats, size: int) -> Floats:
    columns = [np.bincount(place, column, size) for column in values.T]
    return np.stack(columns, axis=1) if columns else np.zeros((size, 0))
