"""Nested effects with Gaussian priors, found by Newton's method, with Laplace's approximation.

The linear predictor of row i (one lot, say) is

    η_i = offset_i + α[group of i] + γ[variety of i] + β[cell of i] + shared_i · s,
    α_g ~ N(0, sd_g²),  γ_v ~ N(0, τ_variety²),  β_c ~ N(0, τ_cell²),  s ~ N(0, Q⁻¹),

a group being a crop group by a method, and a cell a variety by a method. Each cell lies in one
group and in one variety, so given those the cells are independent, and given the groups and the
shared effects (together: the core) so are the varieties. The matrix of second derivatives is
an arrow within an arrow: eliminating cells, then varieties, costs time and memory linear in rows.
The evidence is Laplace's (Tierney and Kadane 1986, J. Am. Statist. Assoc. 81:82-86; Rasmussen and
Williams 2006, Gaussian Processes for Machine Learning, section 3.4).
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import scipy

from lots.forecast.arrays import Floats, Ints
from lots.forecast.posteriors import Posterior, Taus
from lots.forecast.sparse import Sparse

# Of the effects: cells (C,), varieties (V,), and the core, which is groups and shared (G + K,). Of
# their prior precision the same, of the core a matrix.
type Parts = tuple[Floats, Floats, Floats]

# Per row at η: log-likelihood, its first and its second derivative.
type Likelihood = Callable[[Floats], tuple[Floats, Floats, Floats]]

NEWTON_STEPS = 60
# Newton stops when a step would gain less than this part of the log-posterior.
TOLERANCE = 1e-9


class NoConvergence(Exception):
    """Newton's method didn't settle: the data or the scales are beyond the model."""


@dataclass(frozen=True)
class Nest:
    """Which row belongs where. n rows, C cells, V varieties, G groups, K shared effects.

    cell: (n,) index of cell; group, variety: (C,) index of each cell's, no two cells having both
    in common; varieties: V; shared: (n, K); offset: (n,) prior mean of η; group_sd: (G,) prior
    standard deviations (infinite for a flat prior).
    """

    cell: Ints
    group: Ints
    variety: Ints
    varieties: int
    shared: Sparse
    offset: Floats
    group_sd: Floats

    @cached_property
    def by_group(self) -> "scipy.sparse.csr_array":
        """(G, C): sums cells by group."""
        return _indicator(self.group, len(self.group_sd))

    @cached_property
    def by_variety(self) -> "scipy.sparse.csr_array":
        """(V, C): sums cells by variety."""
        return _indicator(self.variety, self.varieties)

    @cached_property
    def _cell_and_column(self) -> Ints:
        return (self.cell[:, None] * self.shared.width + self.shared.columns).ravel()

    def shared_by_cell(self, weights: Floats) -> Floats:
        """(C, K): the rows of `shared`, each times its weight (n,), summed by cell."""
        cells, width = len(self.group), self.shared.width
        weighted = (self.shared.values * weights[:, None]).ravel()
        return np.bincount(self._cell_and_column, weighted, cells * width).reshape(cells, width)

    @cached_property
    def _pairs(self) -> "scipy.sparse.csc_array":
        """(K², n): the products of every two entries of each row, one of a pair alone."""
        columns, values, width = self.shared.columns, self.shared.values, self.shared.width
        first, second = np.triu_indices(columns.shape[1])
        pair = columns[:, first] * width + columns[:, second]
        product = values[:, first] * values[:, second]
        starts = np.arange(len(pair) + 1) * len(first)
        shape = (width * width, len(pair))
        return scipy.sparse.csc_array((product.ravel(), pair.ravel(), starts), shape=shape)

    def shared_products(self, weights: Floats) -> Floats:
        """(K, K): shared' · diag(weights) · shared."""
        width = self.shared.width
        half = (self._pairs @ weights).reshape(width, width)
        return np.asarray(half + half.T - np.diag(half.diagonal()))


def _indicator(place: Ints, size: int) -> "scipy.sparse.csr_array":
    count = len(place)
    entries = np.ones(count), (place, np.arange(count))
    return scipy.sparse.csr_array(entries, shape=(size, count))


@dataclass(frozen=True, slots=True)
class Mode:
    """Where Newton's method ended: η per row (n,), log evidence, log-likelihood, posterior."""

    eta: Floats
    log_evidence: float
    log_likelihood: float
    posterior: Posterior


def find_mode(
    nest: Nest,
    taus: Taus,
    shared_precision: Floats,
    likelihood: Likelihood,
    start: Posterior | None = None,
) -> Mode:
    """The most likely effects for given scales; shared_precision: (K, K), Q of the shared effects,
    with rows of nothing for a flat prior. Raises NoConvergence.

    Rows whose log-likelihood curves upwards at η count as flat there, which keeps each step
    uphill; for log-concave likelihoods nothing changes.
    """
    cells, groups, varieties = len(nest.group), len(nest.group_sd), nest.varieties
    own = np.concatenate(
        [
            np.full(cells, taus.cell**-2.0),
            np.full(varieties, taus.variety**-2.0),
            nest.group_sd**-2.0,
        ]
    )
    core_precision = scipy.linalg.block_diag(np.diag(own[cells + varieties :]), shared_precision)
    group_of_row, variety_of_row = nest.group[nest.cell], nest.variety[nest.cell]

    def parts(flat: Floats) -> Parts:
        return flat[:cells], flat[cells : cells + varieties], flat[cells + varieties :]

    def eta_of(at: Floats) -> Floats:
        beta, gamma, core = parts(at)
        eta = nest.offset + beta[nest.cell] + gamma[variety_of_row] + core[group_of_row]
        return np.asarray(eta + nest.shared.times(core[groups:]))

    def pull_of(at: Floats) -> Floats:
        return np.concatenate([own * at[: len(own)], shared_precision @ at[len(own) :]])

    def step(slope: Floats, weight: Floats, pull: Floats) -> tuple[Floats, Floats, _Arrow]:
        arrow = _Arrow(nest, (own[:cells], own[cells : cells + varieties], core_precision), weight)
        gradient = np.concatenate(arrow.gather(slope)) - pull
        return gradient, np.concatenate(arrow.solve(*parts(gradient))), arrow

    start_at = (
        np.zeros(len(own) + len(shared_precision))
        if start is None
        else np.concatenate([start.cell, start.variety, start.core])
    )
    rows = f"{taus}, {len(nest.cell)} rows"
    at, log_posterior, arrow = newton(start_at, pull_of, eta_of, likelihood, step, rows)
    proper = np.diag(shared_precision) > 0
    log_prior = float(np.log(own[own > 0]).sum())
    log_prior += float(np.linalg.slogdet(shared_precision[np.ix_(proper, proper)])[1])
    return Mode(
        eta=eta_of(at),
        log_evidence=log_posterior + 0.5 * (log_prior - arrow.log_det),
        log_likelihood=log_posterior + float(at @ pull_of(at)) / 2,
        posterior=arrow.posterior(*parts(at)),
    )


def newton[F](
    at: Floats,
    pull_of: Callable[[Floats], Floats],
    eta_of: Callable[[Floats], Floats],
    likelihood: Likelihood,
    step: Callable[[Floats, Floats, Floats], tuple[Floats, Floats, F]],
    rows: str,
) -> tuple[Floats, float, F]:
    """Newton's method from effects `at` (p,): the most likely effects, the log-posterior there, and
    the factors of the last step.

    pull_of: what the prior pulls effects back by (p,), its precision times them; eta_of: η (n,) at
    effects; step: from the slope and the weight of each row (n,) and the pull, the gradient (p,),
    the step (p,) and what it was factored into; rows: words for the fault. Raises NoConvergence.
    """

    def evaluate(at: Floats) -> tuple[float, Floats, Floats]:
        value, slope, curvature = likelihood(eta_of(at))
        return float(value.sum()) - float(at @ pull_of(at)) / 2, slope, curvature

    log_posterior, slope, curvature = evaluate(at)
    for _ in range(NEWTON_STEPS):
        gradient, direction, factors = step(slope, np.maximum(-curvature, 0.0), pull_of(at))
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
        cell_w, cell_z = np.bincount(nest.cell, w, cells), nest.shared_by_cell(w)
        self.cell_var = 1 / (cell_w + precision[0])
        self.cell_pull = np.column_stack([cell_w, cell_z]) * self.cell_var[:, None]
        # What a cell leaves to others once it has taken its own part: W - W²/D = W/(τ² D).
        left = self.cell_var * precision[0]
        left_w, left_z = cell_w * left, cell_z * left[:, None]
        self.variety_var = 1 / (np.bincount(nest.variety, left_w, nest.varieties) + precision[1])
        tie = np.zeros((nest.varieties, len(precision[2])))
        tie[nest.variety, nest.group] = left_w
        tie[:, groups:] = nest.by_variety @ left_z
        self.variety_pull = tie * self.variety_var[:, None]
        core = precision[2].copy()
        core[np.arange(groups), np.arange(groups)] += np.bincount(nest.group, left_w, groups)
        core[:groups, groups:] = nest.by_group @ left_z
        core[groups:, :groups] = core[:groups, groups:].T
        core[groups:, groups:] += nest.shared_products(w) - cell_z.T @ self.cell_pull[:, 1:]
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
        return (at_cell, *self._onward(at_cell, nest.shared.sums(slope)))

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
