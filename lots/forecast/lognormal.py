"""The log-normal that a range stands for.

A range low–high is read as the central 80 %: one in ten falls below it, one in ten above.
"""

import math
from dataclasses import dataclass
from statistics import NormalDist

STANDARD = NormalDist()

# Standard normal deviate of 90 %: half the width of a central 80 % range.
Z90 = STANDARD.inv_cdf(0.9)


@dataclass(frozen=True, slots=True)
class Range:
    """Central 80 % of something: days, or a share between 0 and 1."""

    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Quantiles:
    """Days (or a share) that are reached with a chance of 10, 50 and 90 in 100."""

    p10: float
    p50: float
    p90: float


def from_range(days: Range) -> tuple[float, float]:
    """Mean and standard deviation of log days of the log-normal whose central 80 % is `days`.

    Raises ValueError unless 0 < low < high.
    """
    if not 0 < days.low < days.high:
        raise ValueError(
            f"A range of days needs 0 < low < high, not {days.low:g} to {days.high:g}."
        )
    low, high = math.log(days.low), math.log(days.high)
    return (low + high) / 2, (high - low) / (2 * Z90)


def quantile(mean: float, sd: float, share: float) -> float:
    """Days by which `share` (0 to 1) is reached, for log days ~ Normal(mean, sd²)."""
    return math.exp(mean + sd * STANDARD.inv_cdf(share))


def quantiles(mean: float, sd: float) -> Quantiles:
    """Days reached with a chance of 10, 50 and 90 in 100, for log days ~ Normal(mean, sd²)."""
    return Quantiles(*(quantile(mean, sd, share) for share in (0.1, 0.5, 0.9)))
