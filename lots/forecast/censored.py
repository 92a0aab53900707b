"""Log-likelihood of times known only to lie in an interval, log-normally distributed.

    log T ~ Normal(η, σ²),  low < T ≤ high;  low = 0 if nothing was seen before `high`
    (left-censored), high = inf if it hasn't happened yet (right-censored), low = high if the
    time is known exactly (density of T, not of log T).

Formulas: Meeker and Escobar 1998, Statistical Methods for Reliability Data, chapter 8.
"""

import numpy as np
import scipy

from lots.forecast.arrays import Floats

HALF_LOG_2PI = 0.5 * np.log(2 * np.pi)


def log_likelihood(
    low: Floats, high: Floats, eta: Floats, sigma: float
) -> tuple[Floats, Floats, Floats]:
    """Per time (n,): log-likelihood and its first and second derivative by η.

    low, high: in days, log_likelihood finite wherever 0 <= low <= high and high > 0.
    """
    with np.errstate(divide="ignore"):
        a, b = (np.log(low) - eta) / sigma, (np.log(high) - eta) / sigma
    exact = low == high
    # Φ(b) - Φ(a) = Φ(-a) - Φ(-b): work in the tail where neither is near 1.
    flip = a + np.where(np.isinf(b), 0.0, b) > 0
    below, above = np.where(flip, -b, a), np.where(flip, -a, b)
    with np.errstate(divide="ignore", invalid="ignore"):
        log_above = scipy.special.log_ndtr(above)
        log_p = log_above + np.log1p(-np.exp(scipy.special.log_ndtr(below) - log_above))
    log_p = np.where(exact, -0.5 * b**2 - HALF_LOG_2PI, log_p)
    # Density over probability at either end; nothing at an infinite end.
    with np.errstate(invalid="ignore", over="ignore"):
        at_a, at_b = (np.exp(-0.5 * z**2 - HALF_LOG_2PI - log_p) for z in (a, b))
        a_at_a = np.where(np.isinf(a), 0.0, a * at_a)
        b_at_b = np.where(np.isinf(b), 0.0, b * at_b)
    slope = np.where(exact, b, at_a - at_b)
    curvature = np.where(exact, -1.0, a_at_a - b_at_b - (at_a - at_b) ** 2)
    value = log_p - np.where(
        exact, np.log(sigma) + np.log(high, where=exact, out=np.zeros_like(high)), 0.0
    )
    return value, slope / sigma, curvature / sigma**2
