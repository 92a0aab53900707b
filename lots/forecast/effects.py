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
from lots.forecast.posterior import Posterior, Taus

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
    precision = (
        np.full(cells, taus.cell**-2.0),
        np.full(nest.varieties, taus.variety**-2.0),
        np.concatenate([nest.group_sd, nest.shared_sd]) ** -2.0,
    )
    # Cells, varieties, core.
    at: Parts = (
        (np.zeros(cells), np.zeros(nest.varieties), np.zeros(len(precision[2])))
        if start is None
        else (start.cell, start.variety, start.core)
    )
    group_of_row, variety_of_row = nest.group[nest.cell], nest.variety[nest.cell]

    def look(at: Parts) -> tuple[Floats, Floats, Floats, float, float]:
        beta, gamma, core = at
        eta = nest.offset + beta[nest.cell] + gamma[variety_of_row] + core[group_of_row]
        eta += nest.shared @ core[groups:]
        value, slope, bend = likelihood(eta)
        total = float(value.sum())
        penalty = sum(float(x**2 @ p) for x, p in zip(at, precision, strict=True)) / 2
        return eta, slope, bend, total, total - penalty

    eta, slope, bend, total, height = look(at)
    for _ in range(NEWTON_STEPS):
        arrow = _Arrow(nest, precision, np.maximum(-bend, 0.0))
        pulled = arrow.gather(slope)
        gradient = [g - x * p for g, x, p in zip(pulled, at, precision, strict=True)]
        step = arrow.solve(*gradient)
        gain = sum(float(g @ d) for g, d in zip(gradient, step, strict=True))
        if gain < TOLERANCE * (1 + abs(height)):
            break
        share = 1.0
        while True:
            new = (at[0] + share * step[0], at[1] + share * step[1], at[2] + share * step[2])
            eta, slope, bend, total, new_height = look(new)
            if new_height > height or share < 1e-6:
                break
            share /= 2
        at, height = new, new_height
    else:
        raise NoConvergence(f"No mode after {NEWTON_STEPS} steps: {taus}, {len(eta)} rows.")
    log_prior = sum(float(np.log(p[p > 0]).sum()) for p in precision)
    return Mode(
        eta=eta,
        log_evidence=height + 0.5 * (log_prior - arrow.log_det),
        log_likelihood=total,
        posterior=arrow.posterior(*at),
    )


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
