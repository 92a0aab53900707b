"""Pots finishing week by week, with a band.

Pots of one lot don't finish on one day. About the lot's own T (half of its pots there), the log
days of single pots scatter with a standard deviation that the book shows: the spread.
"""

from dataclasses import dataclass

import numpy as np
import scipy

from lots.forecast import censored, effects, scales
from lots.forecast.arrays import Floats, Ints, Keys
from lots.forecast.effects import Nest
from lots.forecast.posteriors import Taus
from lots.forecast.sparse import of_dense

# The spread before any lot is seen: root mean square, and standard deviation of its logarithm.
# Common practice, no source: of a lot that takes five months, most finish within five weeks.
SPREAD = np.array([0.08])
SPREAD_SPREAD = np.array([0.5])
# How far a lot's own T may lie from what its first look suggests, in log days.
LOT_SD = 1.0


@dataclass(frozen=True, slots=True)
class Growing:
    """m lots with pots to come. after: (m,) age in days at which none of them was finished yet;
    edges: (m, weeks + 1) age at the start of each week and at the end of the last; key: (m,) index
    of what to sum by, such as variety and pot size."""

    after: Floats
    edges: Floats
    key: Ints


@dataclass(frozen=True, slots=True)
class Weeks:
    """Pots a week, (…, weeks) each: expected, and by the band's quantiles."""

    mean: Floats
    p10: Floats
    p50: Floats
    p90: Floats


def fit_spread(lot: Keys, low: Floats, high: Floats, pots: Floats) -> float:
    """Standard deviation of log days of single pots about their lot's T.

    One entry a look, (n,): `pots` of `lot` finished between `low` and `high` days after
    sticking; high = inf for those still growing at the last look. Raises NoConvergence.
    """
    lots, cell = np.unique(lot, return_inverse=True)
    total = np.maximum(np.bincount(cell, pots, len(lots)), np.finfo(float).tiny)
    near = np.log(np.where(np.isfinite(high), high, np.maximum(low, 1.0)))
    middle = np.bincount(cell, pots * near, len(lots)) / total
    nest = Nest(
        cell=cell,
        group=np.zeros(len(lots), dtype=np.intp),
        variety=np.arange(len(lots)),
        varieties=len(lots),
        shared=of_dense(np.zeros((len(lot), 0))),
        offset=middle[cell],
        group_sd=np.array([LOT_SD]),
    )

    taus = Taus(LOT_SD, LOT_SD)

    def log_evidence(log_scales: Floats) -> float:
        def likelihood(eta: Floats) -> tuple[Floats, Floats, Floats]:
            terms = censored.log_likelihood(low, high, eta, float(np.exp(log_scales[0])))
            value, slope, curvature = (pots * term for term in terms)
            return value, slope, curvature

        prior = scales.log_prior(log_scales, SPREAD, SPREAD_SPREAD)
        return effects.find_mode(nest, taus, np.zeros((0, 0)), likelihood).log_evidence + prior

    return float(np.exp(scales.empirical_bayes(log_evidence, np.log(SPREAD))[0]))


def finishing(
    days: Floats, to_come: Ints, lots: Growing, spread: float, rng: np.random.Generator
) -> Ints:
    """(draws, keys, weeks) pots that finish in each week, summed over the lots of a key.

    days: (draws, m) draws of each lot's T; to_come: (draws, m) draws of the pots that will yet
    finish. What should have finished between `after` and the first week counts for the first.
    """
    after, edges, key = lots.after, lots.edges, lots.key
    out = np.zeros((len(days), int(key.max(initial=-1)) + 1, edges.shape[1] - 1), dtype=np.int32)
    for lot in range(days.shape[1]):
        centre = np.log(days[:, lot, None])
        with np.errstate(divide="ignore"):
            seen, later = np.log(after[lot]), np.log(edges[lot])
        later[0] = seen
        there = scipy.special.ndtr((np.maximum(later, seen) - centre) / spread)
        left = np.maximum(1 - there[:, :1], np.finfo(float).tiny)
        # A week each, and what comes after the last.
        share = np.diff(there, axis=1, append=1.0) / left
        share = np.maximum(share, 0.0)
        # Where even this draw's last pot should be there by now, they come at once.
        share[:, 0] += np.maximum(1 - share.sum(axis=1), 0.0)
        share /= share.sum(axis=1, keepdims=True)
        out[:, key[lot]] += rng.multinomial(to_come[:, lot], share)[:, :-1].astype(np.int32)
    return out


def summary(counts: Ints) -> Weeks:
    """Mean and band over the draws of `finishing`, its first axis."""
    p10, p50, p90 = np.quantile(counts, [0.1, 0.5, 0.9], axis=0, method="inverted_cdf")
    return Weeks(counts.mean(axis=0), p10, p50, p90)
