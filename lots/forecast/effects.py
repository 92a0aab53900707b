"""Nested effects with Gaussian priors, found by Newton's method, with Laplace's approximation.

The linear predictor of row i (one lot, say) is

    η_i = offset_i + α[group of i] + β[cell of i] + shared_i · s,
    α_g ~ N(0, sd_g²),  β_c ~ N(0, τ²),  s_k ~ N(0, sd_k²),

with cells (a variety by a method) nested in groups (a crop group by a method). Given the few
shared effects the groups are independent, and given those so are the cells, so the matrix of
second derivatives is an arrow within an arrow: eliminating cells, then groups, costs time and
memory linear in rows. The evidence is Laplace's (Tierney and Kadane 1986, J. Am. Statist. Assoc.
81:82-86; Rasmussen and Williams 2006, Gaussian Processes for Machine Learning, section 3.4).
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

type Floats = NDArray[np.float64]
type Ints = NDArray[np.intp]

# Per row at η: log-likelihood, its first and its second derivative.
type Likelihood = Callable[[Floats], tuple[Floats, Floats, Floats]]

NEWTON_STEPS = 60
# Newton stops when a step would gain less than this part of the log-posterior.
TOLERANCE = 1e-9


class NoConvergence(Exception):
    """Newton's method didn't settle: the data or the scales are beyond the model."""


@dataclass(frozen=True, slots=True)
class Nest:
    """Which row belongs where. n rows, C cells, G groups, K shared effects.

    cell: (n,) index of cell; group: (C,) index of each cell's group; shared: (n, K);
    offset: (n,) prior mean of η; group_sd: (G,) and shared_sd: (K,) prior standard deviations
    (infinite for a flat prior).
    """

    cell: Ints
    group: Ints
    shared: Floats
    offset: Floats
    group_sd: Floats
    shared_sd: Floats


@dataclass(frozen=True, slots=True)
class Posterior:
    """The effects given the data, as a chain: shared, then groups given shared, then cells.

    shared: (K,) mean, shared_cov: (K, K).
    α_g given s ~ N(group[g] - group_pull[g] · (s - shared), group_var[g]).
    β_c given α, s ~ N(cell[c] - cell_pull[c, 0] (α - group) - cell_pull[c, 1:] · (s - shared),
    cell_var[c]).
    """

    shared: Floats
    shared_cov: Floats
    group: Floats
    group_var: Floats
    group_pull: Floats
    cell: Floats
    cell_var: Floats
    cell_pull: Floats


@dataclass(frozen=True, slots=True)
class Mode:
    """Where Newton's method ended: η per row (n,), log evidence, log-likelihood, posterior."""

    eta: Floats
    log_evidence: float
    log_likelihood: float
    posterior: Posterior


@dataclass(frozen=True, slots=True)
class Weights:
    """How η depends on the chain of `Posterior`, for m new rows: η = mean + shared @ (s - ŝ)
    + group · (α's own part) + N(0, local). `group_var` is that of each row's group."""

    mean: Floats
    shared: Floats
    group: Floats
    group_var: Floats
    local: Floats


def find_mode(
    nest: Nest, tau: float, likelihood: Likelihood, start: Posterior | None = None
) -> Mode:
    """The most likely effects for a given τ. Raises NoConvergence.

    Rows whose log-likelihood curves upwards at η count as flat there, which keeps each step
    uphill; for log-concave likelihoods nothing changes.
    """
    cells, groups, shared = len(nest.group), len(nest.group_sd), nest.shared.shape[1]
    # Cells as deviations from their group's: β. All three parts of one long vector.
    group_precision, shared_precision = nest.group_sd**-2.0, nest.shared_sd**-2.0
    beta = np.zeros(cells) if start is None else start.cell
    alpha = np.zeros(groups) if start is None else start.group
    s = np.zeros(shared) if start is None else start.shared
    group_of_row = nest.group[nest.cell]

    def predictor(beta: Floats, alpha: Floats, s: Floats) -> Floats:
        return nest.offset + alpha[group_of_row] + beta[nest.cell] + nest.shared @ s

    def penalty(beta: Floats, alpha: Floats, s: Floats) -> float:
        return 0.5 * float(
            beta @ beta / tau**2 + alpha**2 @ group_precision + s**2 @ shared_precision
        )

    eta = predictor(beta, alpha, s)
    value, slope, bend = likelihood(eta)
    height = float(value.sum()) - penalty(beta, alpha, s)
    for _ in range(NEWTON_STEPS):
        arrow = _Arrow(nest, tau, np.maximum(-bend, 0.0), group_precision, shared_precision)
        at_cell = np.bincount(nest.cell, slope, cells)
        gradient = (
            at_cell - beta / tau**2,
            np.bincount(nest.group, at_cell, groups) - alpha * group_precision,
            nest.shared.T @ slope - s * shared_precision,
        )
        step = arrow.solve(*gradient)
        gain = sum(float(g @ d) for g, d in zip(gradient, step, strict=True))
        if gain < TOLERANCE * (1 + abs(height)):
            break
        share = 1.0
        while True:
            new = tuple(x + share * d for x, d in zip((beta, alpha, s), step, strict=True))
            eta = predictor(*new)
            value, slope, bend = likelihood(eta)
            new_height = float(value.sum()) - penalty(*new)
            if new_height > height or share < 1e-6:
                break
            share /= 2
        beta, alpha, s = new
        height = new_height
    else:
        raise NoConvergence(f"No mode after {NEWTON_STEPS} steps: τ {tau:g}, {len(eta)} rows.")
    log_prior_precision = (
        -2 * cells * np.log(tau) + _log_finite(group_precision) + _log_finite(shared_precision)
    )
    return Mode(
        eta=eta,
        log_evidence=height + 0.5 * (log_prior_precision - arrow.log_det),
        log_likelihood=float(value.sum()),
        posterior=arrow.posterior(beta, alpha, s),
    )


class _Arrow:
    """The negative Hessian of the log-posterior, eliminated: cells first, then groups."""

    def __init__(
        self, nest: Nest, tau: float, w: Floats, group_precision: Floats, shared_precision: Floats
    ) -> None:
        self.nest = nest
        cells, groups = len(nest.group), len(group_precision)
        wz = nest.shared * w[:, None]
        self.cell_w = np.bincount(nest.cell, w, cells)
        cell_z = _sum_columns(nest.cell, wz, cells)
        self.cell_var = 1 / (self.cell_w + tau**-2.0)
        self.cell_pull = np.column_stack([self.cell_w, cell_z]) * self.cell_var[:, None]
        # What a cell leaves to its group once it has taken its own part: W - W²/D = W/(τ² D).
        left = self.cell_var * tau**-2.0
        self.group_var = 1 / (np.bincount(nest.group, self.cell_w * left, groups) + group_precision)
        self.group_z = _sum_columns(nest.group, cell_z * left[:, None], groups)
        self.group_pull = self.group_z * self.group_var[:, None]
        core = nest.shared.T @ wz + np.diag(shared_precision)
        core -= cell_z.T @ self.cell_pull[:, 1:]
        core -= self.group_z.T @ self.group_pull
        self.shared_cov = np.linalg.inv(core)
        self.log_det = float(
            np.linalg.slogdet(core)[1] - np.log(self.cell_var).sum() - np.log(self.group_var).sum()
        )

    def solve(self, cell: Floats, group: Floats, shared: Floats) -> tuple[Floats, Floats, Floats]:
        """Solve H x = gradient, given the gradient's three parts."""
        nest, pull = self.nest, self.cell_pull
        group = group - np.bincount(nest.group, pull[:, 0] * cell, len(group))
        shared = shared - pull[:, 1:].T @ cell - self.group_pull.T @ group
        s = self.shared_cov @ shared
        alpha = self.group_var * group - self.group_pull @ s
        beta = self.cell_var * cell - pull[:, 0] * alpha[nest.group] - pull[:, 1:] @ s
        return beta, alpha, s

    def posterior(self, beta: Floats, alpha: Floats, s: Floats) -> Posterior:
        return Posterior(
            shared=s,
            shared_cov=self.shared_cov,
            group=alpha,
            group_var=self.group_var,
            group_pull=self.group_pull,
            cell=beta,
            cell_var=self.cell_var,
            cell_pull=self.cell_pull,
        )


def weights(
    posterior: Posterior, tau: float, group: Ints, cell: Ints, shared: Floats, group_sd: Floats
) -> Weights:
    """How η, less its offset, of m new rows depends on the effects.

    group, cell: (m,) indices, -1 for one that the fit hasn't seen; shared: (m, K);
    group_sd: (m,) prior standard deviation of an unseen group.
    """
    new_cell, new_group = cell < 0, group < 0
    pull = np.where(new_cell[:, None], 0.0, _take(posterior.cell_pull, cell))
    on_group = 1 - pull[:, 0]
    group_pull = np.where(new_group[:, None], 0.0, _take(posterior.group_pull, group))
    return Weights(
        mean=shared @ posterior.shared
        + np.where(new_group, 0.0, _take(posterior.group, group))
        + np.where(new_cell, 0.0, _take(posterior.cell, cell)),
        shared=shared - pull[:, 1:] - on_group[:, None] * group_pull,
        group=on_group,
        group_var=np.where(new_group, group_sd**2, _take(posterior.group_var, group)),
        local=np.where(new_cell, tau**2, _take(posterior.cell_var, cell)),
    )


def variance(rows: Weights, posterior: Posterior) -> Floats:
    """Posterior variance of η of each row."""
    shared = np.einsum("ij,jk,ik->i", rows.shared, posterior.shared_cov, rows.shared)
    return np.asarray(shared + rows.group**2 * rows.group_var + rows.local)


def draw(
    rows: Weights,
    posterior: Posterior,
    group: NDArray[np.str_],
    cell: NDArray[np.str_],
    draws: int,
    rng: np.random.Generator,
) -> Floats:
    """(draws, m) draws of η, less its offset, jointly: rows of one group or cell move together.

    group, cell: (m,) keys.
    """
    _, first_of_group, in_group = np.unique(group, return_index=True, return_inverse=True)
    _, first_of_cell, in_cell = np.unique(cell, return_index=True, return_inverse=True)
    root = np.linalg.cholesky(posterior.shared_cov)
    shared = rng.standard_normal((draws, len(root))) @ root.T
    groups = rng.standard_normal((draws, len(first_of_group)))
    groups *= np.sqrt(rows.group_var[first_of_group])
    cells = rng.standard_normal((draws, len(first_of_cell)))
    cells *= np.sqrt(rows.local[first_of_cell])
    return np.asarray(
        rows.mean + shared @ rows.shared.T + groups[:, in_group] * rows.group + cells[:, in_cell]
    )


def _take(values: Floats, place: Ints) -> Floats:
    """`values[place]`, with zeros where there is nothing to take from."""
    if not len(values):
        return np.zeros((len(place), *values.shape[1:]))
    return np.asarray(values[np.maximum(place, 0)])


def _sum_columns(place: Ints, values: Floats, size: int) -> Floats:
    columns = [np.bincount(place, column, size) for column in values.T]
    return np.stack(columns, axis=1) if columns else np.zeros((size, 0))


def _log_finite(precision: Floats) -> float:
    return float(np.log(precision[precision > 0]).sum())
