"""What is known of the effects once data is in, and what follows for any row.

The effects are those of `effects`: a core of groups and shared ones, varieties, and cells.
"""

import math
from dataclasses import dataclass

import numpy as np

from lots.forecast.arrays import Floats, Ints


@dataclass(frozen=True, slots=True)
class Taus:
    """Prior standard deviations of varieties, of cells about their variety, of houses, and of
    benches about their house; of the nursery's steps from quarter to quarter, and of the direction
    it goes in (see `drift`)."""

    variety: float
    cell: float
    house: float = 0.0
    bench: float = 0.0
    walk: float = 0.0
    trend: float = 0.0

    @property
    def total(self) -> float:
        """Of varieties by one method about their group."""
        return math.hypot(self.variety, self.cell)


@dataclass(frozen=True, slots=True)
class Posterior:
    """The effects given the data, as a chain: core, then varieties given it, then cells.

    core: (G + K,) mean of α and s, core_cov: its covariance; x below is core less its mean.
    γ_v given x ~ N(variety[v] - variety_pull[v] · x, variety_var[v]).
    β_c given α, γ, s ~ N(cell[c] - cell_pull[c, 0] (α and γ, less their means)
    - cell_pull[c, 1:] · (s less its mean), cell_var[c]).
    """

    core: Floats
    core_cov: Floats
    variety: Floats
    variety_var: Floats
    variety_pull: Floats
    cell: Floats
    cell_var: Floats
    cell_pull: Floats

    @property
    def groups(self) -> int:
        return int(len(self.core) - self.cell_pull.shape[1] + 1)

    @property
    def shared(self) -> Floats:
        """(K,) mean of s."""
        return self.core[self.groups :]


@dataclass(frozen=True, slots=True)
class Weights:
    """How η, less its offset, of m rows depends on the chain of `Posterior`: η = mean + core · x
    + variety (γ's own part, of variance variety_var) + N(0, local)."""

    mean: Floats
    core: Floats
    variety: Floats
    variety_var: Floats
    local: Floats


def weights(
    posterior: Posterior,
    taus: Taus,
    group: Ints,
    variety: Ints,
    cell: Ints,
    shared: Floats,
    group_sd: Floats,
) -> Weights:
    """How η, less its offset, of m rows depends on the effects.

    group, variety, cell: (m,) indices, -1 for one that the fit hasn't seen; shared: (m, K);
    group_sd: (m,) prior standard deviation of an unseen group.
    """
    pull = take(posterior.cell_pull, cell)
    above = 1 - pull[:, 0]
    core = -above[:, None] * take(posterior.variety_pull, variety)
    core[:, posterior.groups :] += shared - pull[:, 1:]
    known = np.flatnonzero(group >= 0)
    core[known, group[known]] += above[known]
    return Weights(
        mean=shared @ posterior.shared
        + take(posterior.core, group)
        + take(posterior.variety, variety)
        + take(posterior.cell, cell),
        core=core,
        variety=above,
        variety_var=np.where(variety < 0, taus.variety**2, take(posterior.variety_var, variety)),
        local=np.where(cell < 0, taus.cell**2, take(posterior.cell_var, cell))
        + np.where(group < 0, group_sd**2, 0.0),
    )


def variance(rows: Weights, posterior: Posterior) -> Floats:
    """Posterior variance of η of each row."""
    core = ((rows.core @ posterior.core_cov) * rows.core).sum(axis=1)
    return np.asarray(core + rows.variety**2 * rows.variety_var + rows.local)


def draw(
    rows: Weights,
    posterior: Posterior,
    variety: Ints,
    cell: Ints,
    draws: int,
    rng: np.random.Generator,
) -> Floats:
    """(draws, m) draws of η, less its offset, jointly: rows of one variety or cell move together.

    variety, cell: (m,) numbers that tell them apart, also those the fit hasn't seen.
    """
    _, first_of_variety, variety = np.unique(variety, return_index=True, return_inverse=True)
    _, first_of_cell, cell = np.unique(cell, return_index=True, return_inverse=True)
    root = np.linalg.cholesky(posterior.core_cov)
    core = rng.standard_normal((draws, len(root))) @ root.T
    varieties = rng.standard_normal((draws, len(first_of_variety)))
    varieties *= np.sqrt(rows.variety_var[first_of_variety])
    cells = rng.standard_normal((draws, len(first_of_cell)))
    cells *= np.sqrt(rows.local[first_of_cell])
    own = varieties[:, variety] * rows.variety + cells[:, cell]
    return np.asarray(rows.mean + core @ rows.core.T + own)


def take(values: Floats, place: Ints) -> Floats:
    """(m, …) `values[place]`, with zeros where place, (m,), is -1."""
    if not len(values):
        return np.zeros((len(place), *values.shape[1:]))
    seen = place.reshape(-1, *[1] * (values.ndim - 1)) >= 0
    return np.where(seen, values[place], 0.0)
