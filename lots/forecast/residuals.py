"""Effects found in what the main fit leaves over: how crop groups go their own ways in time, and
what single stock plants give.

Beside η of the main fit a lot has z · x of its block (a crop group, or a stock plant), with
x ~ N(0, s² R⁻¹). Given η the blocks are independent, so that time and memory stay linear in lots
however many there are. s, of each crop group its own and of all plants the same, is weighed by the
evidence, Laplace's as in `effects`; where less than even speaks for any, there is no such effect.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from lots.forecast import drift, lotrows
from lots.forecast.arrays import Flags, Floats, Ints, Keys
from lots.forecast.effects import Likelihood
from lots.forecast.lotrows import CROP, PLANT, Known, Lots
from lots.forecast.sparse import Sparse

# Values of s to try, in log days: steps of a crop group's own level in half a year. Each is a third
# as likely as the one before until a lot is seen (common practice, no source).
STEPS = (0.0, 0.02, 0.04, 0.08)
# And on the logit scale: how far the plants of a variety lie apart.
PLANTS = (0.0, 0.15, 0.3, 0.6)
HALF_YEAR = 2 * drift.QUARTER
# How far its level at the first knot may lie from the middle of its lots, in steps.
LEVEL = 2.0
LEAST = 1e-3  # of s, where the evidence says there is nothing
NEWTON_STEPS = 8
SETTLED = 2e-3  # a step no longer than this is the last: what is left goes with its square


@dataclass(frozen=True, slots=True)
class Residual:
    """What B blocks have of their own, k effects each: sorted keys, mean (B, k) and covariance
    (B, k, k)."""

    keys: Keys
    mean: Floats
    cov: Floats


def none(size: int = 1) -> Residual:
    """No block has anything of its own."""
    return Residual(np.array([], np.str_), np.zeros((0, size)), np.zeros((0, size, size)))


def walks(
    lots: Lots, known: Known, eta: Floats, likelihood: Likelihood, scale: float = 1.0
) -> Residual:
    """How each crop group goes its own way, by half-years; `scale`: how much further effects reach
    than on that of log days."""
    told = walk_columns(lots, known)
    if told.width < 2:
        return none(told.width)
    steps = np.tril(np.ones((told.width, told.width)), -1)
    precision = np.linalg.inv(steps @ steps.T + LEVEL**2)
    tried = [scale * step for step in STEPS]
    return _fit(lotrows.words(lots, CROP), told, precision, tried, eta, likelihood, alike=False)


def plants(lots: Lots, eta: Floats, likelihood: Likelihood) -> Residual:
    """What the lots of each stock plant have in common beside their variety."""
    told, tried = _ones(len(lots)), list(PLANTS)
    return _fit(lotrows.words(lots, PLANT), told, np.eye(1), tried, eta, likelihood, alike=True)


def walk_of(found: Residual, lots: Lots, known: Known) -> tuple[Floats, Floats]:
    """What `walks` adds to η of m lots: mean and variance, (m,) each."""
    return _at(found, lotrows.words(lots, CROP), lambda: walk_columns(lots, known))


def plant_of(found: Residual, lots: Lots) -> tuple[Floats, Floats]:
    """What `plants` adds to η of m lots: mean and variance, (m,) each; nothing for a plant of which
    no lot was seen."""
    return _at(found, lotrows.words(lots, PLANT), lambda: _ones(len(lots)))


def walk_columns(lots: Lots, known: Known) -> Sparse:
    """(n, k): how much of each half-year's knot is in the level of lots."""
    days = lotrows.days(lots, known)
    return drift.columns(days, known.first_day, (known.knots + 1) // 2, HALF_YEAR)


def _ones(count: int) -> Sparse:
    return Sparse(np.zeros((count, 1), dtype=np.intp), np.ones((count, 1)), 1)


def _fit(
    of: Keys,
    told: Sparse,
    precision: Floats,
    tried: list[float],
    eta: Floats,
    likelihood: Likelihood,
    *,
    alike: bool,
) -> Residual:
    """`of`: (n,) the block of each lot, '' for none; tried: values of s from 0 up; precision: (k,
    k) R, of s = 1; alike: whether s is the same for all blocks."""
    keys, block = np.unique(of, return_inverse=True)
    if not (keys != "").any():
        return none(told.width)
    blocks = _Blocks(block, told, len(keys), (keys != "")[block])
    evidence = np.zeros((len(tried), len(keys)))
    evidence[0] = blocks.totals(likelihood(eta)[0])
    mean = np.zeros((len(keys), told.width))
    for n, s in enumerate(tried[1:], start=1):
        at = np.broadcast_to(precision / s**2, (len(keys), *precision.shape))
        mean, _, evidence[n] = _newton(blocks, at, eta, likelihood, mean)
    if alike:
        evidence[:] = evidence.sum(axis=1, keepdims=True)
    evidence -= np.arange(len(tried))[:, None] * np.log(3)
    weights = np.exp(evidence - evidence.max(axis=0))
    weights /= weights.sum(axis=0)
    asks = (weights[0] < 0.5) & (keys != "")
    if not asks.any():
        return none(told.width)
    squares = np.square(tried) @ weights
    at = precision / np.maximum(squares, LEAST**2)[:, None, None]
    mean, cov, _ = _newton(blocks, at, eta, likelihood, mean)
    return Residual(keys[asks], mean[asks], cov[asks])


@dataclass(frozen=True, slots=True)
class _Blocks:
    """Lots in their blocks: `block` (n,) of `count`; those of none are not `inside`."""

    block: Ints
    told: Sparse
    count: int
    inside: Flags

    def times(self, x: Floats) -> Floats:
        """(n,) what the effects (B, k) add to η."""
        added = (self.told.values * x[self.block[:, None], self.told.columns]).sum(axis=1)
        return np.where(self.inside, added, 0.0)

    def totals(self, values: Floats) -> Floats:
        """(B,): the values (n,) of each block's lots, summed."""
        return np.bincount(self.block, values, self.count)

    def sums(self, weights: Floats) -> Floats:
        """(B, k): the rows of each block's lots, each times its weight (n,), summed."""
        width = self.told.width
        at = self.block[:, None] * width + self.told.columns
        added = weights[:, None] * self.told.values
        found = np.bincount(at.ravel(), added.ravel(), self.count * width)
        return found.reshape(self.count, width)

    def products(self, weights: Floats) -> Floats:
        """(B, k, k): of each block, rows' · diag(weights) · rows."""
        columns, values, width = self.told.columns, self.told.values, self.told.width
        at = (self.block[:, None, None] * width + columns[:, :, None]) * width + columns[:, None, :]
        added = weights[:, None, None] * values[:, :, None] * values[:, None, :]
        found = np.bincount(at.ravel(), added.ravel(), self.count * width**2)
        return found.reshape(self.count, width, width)


def _newton(
    blocks: _Blocks, precision: Floats, eta: Floats, likelihood: Likelihood, start: Floats
) -> tuple[Floats, Floats, Floats]:
    """Most likely effects (B, k), their covariance, and the log evidence (B,), for a prior
    precision (B, k, k) of each block, from some effects on."""
    x = start
    for _ in range(NEWTON_STEPS):
        _, slope, curvature = likelihood(eta + blocks.times(x))
        hessian = blocks.products(_inside(blocks, curvature)) + precision
        pull = (precision @ x[:, :, None])[:, :, 0]
        up = blocks.sums(np.where(blocks.inside, slope, 0.0)) - pull
        step = np.linalg.solve(hessian, up[:, :, None])[:, :, 0]
        x = x + np.clip(step, -1.0, 1.0)
        if np.abs(step).max() < SETTLED:
            break
    value, _, curvature = likelihood(eta + blocks.times(x))
    hessian = blocks.products(_inside(blocks, curvature)) + precision
    prior = np.linalg.slogdet(precision)[1] - (x[:, None, :] @ precision @ x[:, :, None])[:, 0, 0]
    evidence = blocks.totals(value) + 0.5 * (prior - np.linalg.slogdet(hessian)[1])
    return x, np.asarray(np.linalg.inv(hessian)), evidence


def _inside(blocks: _Blocks, curvature: Floats) -> Floats:
    """(n,) by how much the likelihood of lots in blocks curves down; one that curves up counts as
    flat there, which keeps each step uphill."""
    return np.where(blocks.inside, np.maximum(-curvature, 0.0), 0.0)


def _at(found: Residual, of: Keys, columns_of: Callable[[], Sparse]) -> tuple[Floats, Floats]:
    """Mean and variance (m,) for lots of these blocks; mostly there are none, and no columns are
    made: this is on the way of each record."""
    at = lotrows.index(of, found.keys)
    seen = at >= 0
    if not seen.any():
        return np.zeros(len(of)), np.zeros(len(of))
    told = columns_of()
    rows = np.where(seen[:, None], told.values, 0.0)
    block, columns = np.maximum(at, 0)[:, None], told.columns
    mean = (rows * found.mean[block, columns]).sum(axis=1)
    pairs = found.cov[block[:, :, None], columns[:, :, None], columns[:, None, :]]
    return mean, np.asarray((rows[:, :, None] * rows[:, None, :] * pairs).sum(axis=(1, 2)))
