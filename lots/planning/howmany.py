"""How many units to stick, so that enough pots are finished by a day.

A unit makes a pot that is full when at least s of its k pieces strike. Of one lot all pieces have
a rate π in common: logit π's mean is Normal (what is known of the kind), and single lots, or
flats, scatter about it as Beta with correlation ρ (see `lots.forecast.takes`). A full pot grows on
to the end with the chance `survival`. The lot's own day T is log-normal, and single pots scatter
about it with `spread` (see `lots.forecast.weeks`). So given π and T every unit makes it with one
chance, θ, and how many of them do is binomial:

    P(at least N of u) = E[ P(Binomial(u, θ) ≥ N) ],
    θ = P(Binomial(k, π) ≥ s) · survival · Φ((log days − log T) / spread).

What units have in common so moves them together; the expectation is taken over a grid of θ.
"""

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
import scipy

from lots.forecast.arrays import Floats
from lots.forecast.takes import NODE_WEIGHTS, NODES

# More than this nobody sticks as one lot.
MOST_UNITS = 100_000
# Cells of the grids of π and of θ, and days at which the lot's own day is tried.
RATES, CHANCES, DAYS = 400, 1000, 41
# Below this ρ lots don't scatter about their rate.
ALIKE = 1e-6
TOLERANCE = 1e-9  # of a chance: what rounding takes from it
RANKS = (np.arange(DAYS) + 0.5) / DAYS


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of lot, stuck on some day.

    mean, sd: of the logit of its take; rho: correlation of two pieces of one lot, or flat; pieces,
    least: k and s; survival: share of full pots that finish; log_days, log_days_sd: of the lot's
    own day of finish, after sticking; spread: standard deviation of log days of single pots.
    """

    mean: float
    sd: float
    rho: float
    pieces: int
    least: int
    survival: float
    log_days: float
    log_days_sd: float
    spread: float


@dataclass(frozen=True, slots=True)
class Chances:
    """What single units have: θ (m,) with its weights (m,), which sum to 1."""

    theta: Floats
    weights: Floats

    def at_least(self, wanted: int, units: int) -> float:
        """The chance that `wanted` of `units` or more make it."""
        return float(self.weights @ _at_least(wanted, units, self.theta))

    def least_units(self, wanted: int, confidence: float) -> int | None:
        """The fewest units of which `wanted` make it with this chance, up to MOST_UNITS; None where
        no such number will do."""
        confidence -= TOLERANCE
        low, high = wanted - 1, wanted
        while self.at_least(wanted, high) < confidence:
            if high >= MOST_UNITS:
                return None
            low, high = high, min(2 * high, MOST_UNITS)
        while high - low > 1:
            middle = (low + high) // 2
            if self.at_least(wanted, middle) < confidence:
                low = middle
            else:
                high = middle
        return high


def chances(kind: Kind, days: float = np.inf) -> Chances:
    """What units of a lot have in common, if their pots are to be finished within so many `days` of
    sticking (inf: at any time)."""
    rates, weights = lot_rates(kind)
    full = pot_chance(rates, kind) * kind.survival
    in_time = _in_time(kind, days)
    theta = np.multiply.outer(full, in_time).ravel()
    weight = np.repeat(weights / len(in_time), len(in_time))
    return _gathered(theta, weight)


def pot_chance(rate: Floats, kind: Kind) -> Floats:
    """The chance that a pot is full, where each of its pieces strikes with chance `rate`."""
    return _at_least(kind.least, kind.pieces, rate)


def mean_pot_chance(kind: Kind) -> float:
    """The chance of a full pot over all lots of the kind: what the average tells."""
    rates, weights = lot_rates(kind)
    return float(weights @ pot_chance(rates, kind))


@lru_cache(maxsize=64)
def lot_rates(kind: Kind) -> tuple[Floats, Floats]:
    """(m,) rates that a lot of the kind may have, and how likely each is; not to be written to."""
    means = scipy.special.expit(kind.mean + kind.sd * NODES)
    if kind.rho < ALIKE:
        return means, NODE_WEIGHTS
    precision = 1 / kind.rho - 1
    edges = np.linspace(0, 1, RATES + 1)
    a, b = means[:, None] * precision, (1 - means[:, None]) * precision
    below = NODE_WEIGHTS @ scipy.special.betainc(a, b, edges)
    # Of each cell the mean rate: what lies below an edge, each times its rate, is a·I(a + 1, b).
    moments = (NODE_WEIGHTS * means) @ scipy.special.betainc(a + 1, b, edges)
    weights = np.diff(below)
    there = weights > np.finfo(float).eps
    rates = np.clip(np.diff(moments)[there] / weights[there], edges[:-1][there], edges[1:][there])
    return rates, weights[there] / weights[there].sum()


def rate_quantiles(kind: Kind, shares: tuple[float, ...]) -> Floats:
    """Rates that a lot's own stays below with these chances."""
    rates, weights = lot_rates(kind)
    order = np.argsort(rates)
    return np.interp(shares, np.cumsum(weights[order]) - weights[order] / 2, rates[order])


def _in_time(kind: Kind, days: float) -> Floats:
    """(DAYS,) the share of pots finished within `days`, at equally likely days of the lot."""
    if np.isinf(days):
        return np.ones(1)
    if days <= 0:
        return np.zeros(1)
    own = kind.log_days + kind.log_days_sd * scipy.special.ndtri(RANKS)
    return np.asarray(scipy.special.ndtr((np.log(days) - own) / kind.spread))


def _gathered(theta: Floats, weights: Floats) -> Chances:
    """The same on a grid, by the mean θ of each of its cells."""
    if len(theta) <= CHANCES:
        return Chances(theta, weights)
    cell = np.minimum((theta * CHANCES).astype(np.intp), CHANCES - 1)
    total = np.bincount(cell, weights, CHANCES)
    sums = np.bincount(cell, weights * theta, CHANCES)
    there = total > 0
    return Chances(np.minimum(sums[there] / total[there], 1.0), total[there])


def flats_at_least(kind: Kind, flat: int, wanted: int, units: int, days: float = np.inf) -> float:
    """The chance that `wanted` of `units` or more make it, where each flat of `flat` units has a
    rate of its own; what is known of the kind, and the lot's day, they have in common."""
    means = scipy.special.expit(kind.mean + kind.sd * NODES)
    full, left = divmod(units, flat)
    chance = 0.0
    for mean, weight in zip(means, NODE_WEIGHTS, strict=True):
        if weight < 1e-12:
            continue
        own = replace(kind, mean=float(scipy.special.logit(mean)), sd=0.0)
        rates, weights = lot_rates(own)
        filled = pot_chance(rates, kind) * kind.survival
        in_time = _in_time(kind, days)
        for share in in_time:
            counts = [_pmf(filled * share, weights, size) for size in (flat, left)]
            together = np.fft.irfft(
                np.fft.rfft(counts[0], units + 1) ** full * np.fft.rfft(counts[1], units + 1),
                units + 1,
            )
            chance += weight * float(together[wanted:].sum()) / len(in_time)
    return min(max(chance, 0.0), 1.0)


def _at_least(wanted: int, units: int, chance: Floats) -> Floats:
    """The upper tail of the binomial, as an incomplete beta function (Abramowitz and Stegun 1964,
    26.5.24)."""
    if wanted > units:
        return np.zeros_like(chance)
    if wanted < 1:
        return np.ones_like(chance)
    return np.asarray(scipy.special.betainc(wanted, units - wanted + 1, chance))


def _pmf(theta: Floats, weights: Floats, units: int) -> Floats:
    """(units + 1,) the chance of each number of units, over all θ (m,)."""
    number = np.arange(1, units + 1)[:, None]
    tails = np.vstack(
        [
            np.ones((1, len(theta))),
            scipy.special.betainc(number, units - number + 1, theta),
            np.zeros((1, len(theta))),
        ]
    )
    return np.asarray(-np.diff(tails, axis=0) @ weights)
