"""A share of a count with an interval (Wilson 1927, J. Am. Statist. Assoc. 22:209-212)."""

import math
from dataclasses import dataclass

import scipy


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
