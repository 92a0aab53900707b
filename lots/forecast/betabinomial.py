"""The beta-binomial: units of a lot that take, when lots differ more than chance makes them.

A lot's own rate is Beta(μ M, (1 - μ) M), μ = expit(η), M = 1/ρ - 1, so two units of a lot
agree with correlation ρ (Williams 1975, Biometrics 31:949-952; Crowder 1978, Appl. Statist.
27:34-37). Derivatives follow from those of the log gamma function.
"""

from dataclasses import dataclass

import numpy as np
import scipy

from lots.forecast.arrays import Floats, Ints


def pmf(units: Ints, eta: Floats, rho: float) -> Floats:
    """(n, largest lot + 1): probability that 0, 1, 2 … of each lot's units take.

    By the ratio of neighbours, p(k + 1) / p(k) = (n - k) (k + a) / ((k + 1) (n - k - 1 + b)).
    """
    a, b = (shape[:, None] for shape in _shape(eta, rho))
    k = np.arange(int(units.max(initial=0)))
    left = np.maximum(units[:, None] - k, 0)
    with np.errstate(divide="ignore"):
        log_ratio = np.log(left * (k + a) / ((k + 1) * (np.maximum(left - 1, 0) + b)))
    log_p = np.zeros((len(units), len(k) + 1))
    np.cumsum(log_ratio, axis=1, out=log_p[:, 1:])
    log_p -= log_p.max(axis=1, keepdims=True)
    found = np.exp(log_p)
    return np.asarray(found / found.sum(axis=1, keepdims=True))


@dataclass(frozen=True, slots=True)
class Counted:
    """What is known of n lots, laid out once for many looks at their likelihood: an entry for
    each number of units that may have taken, most lots having just one.

    lot: which each entry is of; taken, left: units; log_ways: log of the ways to pick them;
    first: (n,) where each lot's entries begin.
    """

    lot: Ints
    taken: Ints
    left: Ints
    log_ways: Floats
    first: Ints


def counted(units: Ints, least: Ints, most: Ints) -> Counted:
    """Lots of which between `least` and `most` of `units` took, (n,) each."""
    width = most - least + 1
    first = np.cumsum(width) - width
    lot = np.repeat(np.arange(len(units)), width)
    taken = np.arange(len(lot)) - first[lot] + least[lot]
    left = units[lot] - taken
    gammaln = scipy.special.gammaln
    log_ways = gammaln(taken + left + 1) - gammaln(taken + 1) - gammaln(left + 1)
    return Counted(lot, taken, left, log_ways, first)


def log_likelihood(counts: Counted, eta: Floats, rho: float) -> tuple[Floats, Floats, Floats]:
    """Per lot (n,): log probability of what is known of it, and its first and second derivative
    by η."""
    if len(counts.lot) == len(eta):
        return _point(counts, eta, rho)
    lot, first = counts.lot, counts.first
    value, slope, curvature = _point(counts, eta[lot], rho)
    top = np.maximum.reduceat(value, first)
    share = np.exp(value - top[lot])
    total = np.add.reduceat(share, first)
    share /= total[lot]
    mean_slope = np.add.reduceat(share * slope, first)
    mean_curvature = np.add.reduceat(share * (curvature + slope**2), first)
    return top + np.log(total), mean_slope, mean_curvature - mean_slope**2


def _point(counts: Counted, eta: Floats, rho: float) -> tuple[Floats, Floats, Floats]:
    gammaln, digamma = scipy.special.gammaln, scipy.special.digamma
    (a, b), precision, mu = _shape(eta, rho), 1 / rho - 1, scipy.special.expit(eta)
    taken_a, left_b = counts.taken + a, counts.left + b
    value = counts.log_ways + gammaln(taken_a) - gammaln(a) + gammaln(left_b) - gammaln(b)
    value += gammaln(precision) - gammaln(counts.taken + counts.left + precision)
    by_mu = precision * (digamma(taken_a) - digamma(a) - digamma(left_b) + digamma(b))
    by_mu_twice = _trigamma(taken_a) - _trigamma(a) + _trigamma(left_b) - _trigamma(b)
    q = mu * (1 - mu)
    return value, q * by_mu, (precision * q) ** 2 * by_mu_twice + q * (1 - 2 * mu) * by_mu


def _shape(eta: Floats, rho: float) -> tuple[Floats, Floats]:
    """The two parameters of the beta distribution."""
    precision = 1 / rho - 1
    # Both by expit, so that neither is lost when η is far out; never quite 0.
    expit, tiny = scipy.special.expit, 1e-12
    return np.maximum(expit(eta) * precision, tiny), np.maximum(expit(-eta) * precision, tiny)


def _trigamma(x: Floats) -> Floats:
    """Second derivative of the log gamma function, to 1e-11 or better of its size.

    SciPy's `polygamma` is ten times as slow. Recurrence 6.4.6 up to x + 6 and the series 6.4.12
    of Abramowitz and Stegun 1964, Handbook of Mathematical Functions.
    """
    steps = sum((1 / (x + k) ** 2 for k in range(6)), start=np.zeros_like(x))
    r = 1 / (x + 6)
    s = r * r
    series = 1 / 6 - s * (1 / 30 - s * (1 / 42 - s * (1 / 30 - s * 5 / 66)))
    return steps + r * (1 + r / 2 + s * series)
