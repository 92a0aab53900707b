"""How good forecasts were: held against what came.

Share inside the band with Wilson's interval (Wilson 1927, J. Am. Statist. Assoc. 22:209-212);
probability integral transform; continuous ranked probability score of a log-normal (Baran and
Lerch 2015, Q. J. R. Meteorol. Soc. 141:2289-2299).
"""

import math
from dataclasses import dataclass

import numpy as np
import scipy

from lots.forecast.arrays import Floats


@dataclass(frozen=True, slots=True)
class Share:
    """`hits` of `count`, as a share with an interval; all nan when `count` is 0."""

    hits: int
    count: int
    share: float
    low: float
    high: float


def wilson(hits: int, count: int, confidence: float = 0.95) -> Share:
    """Share with Wilson's score interval. Raises ValueError unless 0 <= hits <= count."""
    if not 0 <= hits <= count:
        raise ValueError(f"There can't be {hits} hits of {count}.")
    if not count:
        return Share(0, 0, math.nan, math.nan, math.nan)
    z, p = float(scipy.special.ndtri((1 + confidence) / 2)), hits / count
    middle = (p + z**2 / (2 * count)) / (1 + z**2 / count)
    half = z / (1 + z**2 / count) * math.sqrt(p * (1 - p) / count + (z / (2 * count)) ** 2)
    # At 0 and at all the formula gives the bound exactly, but for rounding.
    low = 0.0 if hits == 0 else middle - half
    high = 1.0 if hits == count else middle + half
    return Share(hits, count, p, low, high)


def pit(mean: Floats, sd: Floats, low: Floats, high: Floats) -> Floats:
    """Where the outcome fell in its forecast, 0 to 1, (n,): uniform if forecasts are right.

    mean, sd: of log days. The outcome lies between `low` and `high` days; the middle of its
    share of the forecast stands for it.
    """
    with np.errstate(divide="ignore"):
        below, above = (
            scipy.special.ndtr((np.log(low) - mean) / sd),
            scipy.special.ndtr((np.log(high) - mean) / sd),
        )
    return np.asarray((below + above) / 2)


def share_in_band(pits: Floats, band: float = 0.8) -> Share:
    """How many outcomes fell in the central `band` of their forecasts."""
    inside = np.abs(pits - 0.5) <= band / 2
    return wilson(int(inside.sum()), len(pits))


def crps(mean: Floats, sd: Floats, outcome: Floats) -> Floats:
    """Continuous ranked probability score in days, (n,), of forecasts log T ~ Normal(mean, sd²).

    The less the better; for a forecast without doubt it is the absolute error.
    """
    z = (np.log(outcome) - mean) / sd
    return np.asarray(
        outcome * (2 * scipy.special.ndtr(z) - 1)
        - 2
        * np.exp(mean + sd**2 / 2)
        * (scipy.special.ndtr(z - sd) + scipy.special.ndtr(sd / math.sqrt(2)) - 1)
    )
