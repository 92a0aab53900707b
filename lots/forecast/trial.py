"""The result of a side-by-side trial: two ways of cutting, spread over the same flats.

Each flat is a stratum, so that a warm or a wet flat favours neither. The test is Cochran's as
improved by Mantel and Haenszel (1959, J. Natl. Cancer Inst. 22:719-748), without continuity
correction; the interval of the odds ratio is that of Robins, Breslow and Greenland (1986,
Biometrics 42:311-323).
"""

import math
from dataclasses import dataclass

import scipy

from lots.forecast.arrays import Floats, Ints


@dataclass(frozen=True, slots=True)
class Verdict:
    """Odds of taking, first way over second, with an interval; χ² on one degree of freedom and
    the probability of as large a difference by chance alone. `first`, `second`: shares taken."""

    first: float
    second: float
    odds_ratio: float
    low: float
    high: float
    chi2: float
    p: float


def judge(taken: Ints, units: Ints, confidence: float = 0.95) -> Verdict:
    """The verdict on (flats, 2) units taken of units stuck, a column for each way.

    Where one way took or lost everything in every flat the odds ratio is 0 or infinite, its
    interval has no end on that side. Raises ValueError unless 0 <= taken <= units and each way
    has units.
    """
    if not ((taken >= 0) & (taken <= units)).all() or not units.sum(axis=0).all():
        raise ValueError("Each way needs units, and no more can take than were stuck.")
    total, both = units.sum(axis=1), taken.sum(axis=1)
    kept = total > 1
    n, took = total[kept].astype(float), both[kept].astype(float)
    (a, c), size = taken[kept].T.astype(float), units[kept].astype(float)
    b, d = size[:, 0] - a, size[:, 1] - c
    expected = size[:, 0] * took / n
    variance = size[:, 0] * size[:, 1] * took * (n - took) / (n**2 * (n - 1))
    scatter = float(variance.sum())
    chi2 = float((a - expected).sum() ** 2) / scatter if scatter else 0.0
    ratio, error = _odds_ratio(a, b, c, d, n)
    reach = float(scipy.special.ndtri((1 + confidence) / 2)) * error
    first, second = taken.sum(axis=0) / units.sum(axis=0)
    return Verdict(
        first=float(first),
        second=float(second),
        odds_ratio=ratio,
        low=ratio * math.exp(-reach) if 0 < ratio < math.inf else 0.0,
        high=ratio * math.exp(reach) if 0 < ratio < math.inf else math.inf,
        chi2=chi2,
        p=float(scipy.special.chdtrc(1, chi2)),
    )


def least_shown(first: int, second: int, share: float) -> float:
    """The difference of shares that a trial of so many units of each way finds in 8 of 10 cases at
    the level of 5 %, where about `share` of all take; in the normal approximation (Fleiss, Levin
    and Paik 2003, Statistical Methods for Rates and Proportions, chapter 4).

    Where the share is so near 0 or 1 that no such difference fits, that of all, or none, against
    less.
    """
    reach = float(scipy.special.ndtri(0.975) + scipy.special.ndtri(0.8)) ** 2 * (
        1 / first + 1 / second
    )
    return max(math.sqrt(reach * share * (1 - share)), reach / 2 / (1 + reach / 4))


def _odds_ratio(a: Floats, b: Floats, c: Floats, d: Floats, n: Floats) -> tuple[float, float]:
    """Mantel and Haenszel's odds ratio, and the standard error of its logarithm."""
    r, s = a * d / n, b * c / n
    top, bottom = float(r.sum()), float(s.sum())
    if not top and not bottom:
        return math.nan, math.nan
    if not top or not bottom:
        return (math.inf if top else 0.0), math.nan
    p, q = (a + d) / n, (b + c) / n
    variance = (
        (p * r).sum() / (2 * top**2)
        + (p * s + q * r).sum() / (2 * top * bottom)
        + (q * s).sum() / (2 * bottom**2)
    )
    return top / bottom, math.sqrt(float(variance))
