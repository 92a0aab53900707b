"""Pots finishing week by week, with a band.

Pots of one lot don't finish on one day. About the lot's own T (half of its pots there), the log
days of single pots scatter with a standard deviation that the book shows: the spread.
"""

from dataclasses import dataclass

import numpy as np
from scipy.special import ndtr, ndtri

from lots.forecast import censored, effects, scales
from lots.forecast.arrays import Floats, Ints, Keys
from lots.forecast.effects import Nest
from lots.forecast.posterior import Taus

# The spread before any lot is seen: root mean square, and standard deviation of its logarithm.
# Common practice, no source: of a lot that takes five months, most finish within five weeks.
SPREAD = np.array([0.08])
SPREAD_SPREAD = np.array([0.5])
# How far a lot's own T may lie from what its first look suggests, in log days.
LOT_SD = 1.0
# Pots of a lot come in flushes: however many, they tell no more of its T than this many would.
TELLING = 10


@dataclass(frozen=True, slots=True)
class Growing:
    """m lots with pots to come. done: (m,) pots already finished; looked: (m,) age in days at
    the last look, when those to come weren't finished; edges: (m, weeks + 1) age at the start of
    each week and at the end of the last; key: (m,) index of what to sum by, such as variety and
    pot size."""

    done: Ints
    looked: Floats
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
        shared=np.zeros((len(lot), 0)),
        offset=middle[cell],
        group_sd=np.array([LOT_SD]),
        shared_sd=np.zeros(0),
    )

    taus = Taus(LOT_SD, LOT_SD)

    def log_evidence(log_scales: Floats) -> float:
        def likelihood(eta: Floats) -> tuple[Floats, Floats, Floats]:
            terms = censored.log_likelihood(low, high, eta, float(np.exp(log_scales[0])))
            value, slope, bend = (pots * term for term in terms)
            return value, slope, bend

        prior = scales.log_prior(log_scales, SPREAD, SPREAD_SPREAD)
        return effects.find_mode(nest, taus, likelihood).log_evidence + prior

    return float(np.exp(scales.settle(log_evidence, np.log(SPREAD))[0]))


def finishing(
    days: Floats, to_come: Ints, lots: Growing, spread: float, rng: np.random.Generator
) -> Ints:
    """(draws, keys, weeks) pots that finish in each week, summed over the lots of a key.

    days: (draws, m) draws of each lot's T, from `durations.draw`; to_come: (draws, m) draws of
    the pots that will yet finish. What should have finished between the last look and the first
    week counts for the first week.
    """
    days = _heed_first_pots(days, to_come, lots, spread, rng)
    looked, edges, key = lots.looked, lots.edges, lots.key
    out = np.zeros((len(days), int(key.max(initial=-1)) + 1, edges.shape[1] - 1), dtype=np.int32)
    for lot in range(days.shape[1]):
        centre = np.log(days[:, lot, None])
        with np.errstate(divide="ignore"):
            seen, later = np.log(looked[lot]), np.log(edges[lot])
        later[0] = seen
        there = ndtr((np.maximum(later, seen) - centre) / spread)
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


def _heed_first_pots(
    days: Floats, to_come: Ints, lots: Growing, spread: float, rng: np.random.Generator
) -> Floats:
    """Draw lots of which a part has finished towards what that part says of their T.

    If a share f is there at age d, then log T is about log d - spread Φ⁻¹(f). Conditioning a
    draw on an observation with its own error drawn is exact for Gaussians (Journel and
    Huijbregts 1978, Mining Geostatistics, section VII.A).
    """
    begun = np.flatnonzero((lots.done > 0) & (lots.looked > 0))
    if not len(begun):
        return days
    pots = lots.done[begun] + to_come[:, begun].mean(axis=0)
    share = (lots.done[begun] + 0.5) / (pots + 1)
    z = ndtri(share)
    density = np.exp(-0.5 * z**2) / np.sqrt(2 * np.pi)
    error = spread * np.sqrt(share * (1 - share) / np.minimum(pots, TELLING)) / density
    said = np.log(lots.looked[begun]) - spread * z
    log_days = np.log(days[:, begun])
    variance = log_days.var(axis=0)
    pull = variance / (variance + error**2)
    told = said + error * rng.standard_normal(log_days.shape)
    days = days.copy()
    days[:, begun] = np.exp(log_days + pull * (told - log_days))
    return days
