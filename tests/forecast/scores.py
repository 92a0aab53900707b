"""Scores of forecasts that are held against what came: probability integral transform; share inside
the band; continuous ranked probability score of a log-normal (Baran and Lerch 2015, Q. J. R.
Meteorol. Soc. 141:2289-2299).
"""

import math

import numpy as np
import scipy

from lots.forecast.arrays import Floats
from lots.forecast.proportions import Share, wilson


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
