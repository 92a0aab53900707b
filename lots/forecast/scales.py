"""How far things scatter: the scales of a model, found where the evidence is highest."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from lots.forecast import effects
from lots.forecast.arrays import Floats
from lots.forecast.effects import Likelihood, Nest, NoConvergence
from lots.forecast.posteriors import Posterior, Taus

# Numerical slopes and curvatures look this far along a log scale.
REACH = 0.03
LONGEST_STEP = 1.0
STEPS = 40
# Settled when a step would gain less than this in log evidence: the step after it is taken on
# trust.
TOLERANCE = 0.05


@dataclass(frozen=True, slots=True)
class Fitted:
    """Nested effects given the data, with their scales: the scatter of single rows about η (σ of
    log days, ρ of takes) and τ of varieties and of cells."""

    scatter: float
    taus: Taus
    posterior: Posterior
    log_evidence: float


def fit_nest(
    nest: Nest, likelihood: Callable[[float], Likelihood], usual: Floats, spread: Floats
) -> Fitted:
    """The effects of `nest` by empirical Bayes.

    likelihood: of the rows, for a scatter; usual, spread: (3,) what is known of scatter, τ of
    varieties and τ of cells before any row is seen, as `log_prior` takes it. Raises NoConvergence.
    """
    last: Posterior | None = None

    def mode(log_scales: Floats) -> effects.Mode:
        nonlocal last
        scatter, variety, cell = (float(scale) for scale in np.exp(log_scales))
        found = effects.find_mode(nest, Taus(variety, cell), likelihood(scatter), last)
        last = found.posterior  # the next scales are near: Newton's method begins there
        return found

    def log_evidence(log_scales: Floats) -> float:
        return mode(log_scales).log_evidence + log_prior(log_scales, usual, spread)

    settled = empirical_bayes(log_evidence, np.log(usual))
    found = mode(settled)
    scatter, variety, cell = (float(scale) for scale in np.exp(settled))
    return Fitted(scatter, Taus(variety, cell), found.posterior, found.log_evidence)


def empirical_bayes(log_evidence: Callable[[Floats], float], start: Floats) -> Floats:
    """Scales by empirical Bayes, as log scales that stand for their posterior: log of the root of
    the mean square.

    `log_evidence` takes log scales (their prior included). Around its maximum, at m, a log scale
    is about Normal(m, v), v from the curvature there; the scale's mean square is then
    exp(2 m + 2 v). Predicting with that instead of exp(2 m) lets little data say less. The
    maximum is found by Newton's method on numerical derivatives. Raises NoConvergence.
    """
    at, log_posterior = start, log_evidence(start)
    for _ in range(STEPS):
        slope, covariance = _shape(log_evidence, at, log_posterior)
        step = covariance @ slope
        step /= max(1.0, float(np.abs(step).max()) / LONGEST_STEP)
        if float(slope @ step) < TOLERANCE:
            return at + step + np.diag(covariance)
        while (higher := log_evidence(at + step)) < log_posterior and np.abs(step).max() > 1e-3:
            step /= 2
        at, log_posterior = at + step, higher
    raise NoConvergence(f"The scales didn't settle in {STEPS} steps: {np.exp(at)}.")


def _shape(f: Callable[[Floats], float], at: Floats, here: float) -> tuple[Floats, Floats]:
    """Slope, and the inverse of minus the curvature (made positive where `f` isn't concave)."""
    size, reach = len(at), REACH * np.eye(len(at))
    up = np.array([f(at + step) for step in reach])
    down = np.array([f(at - step) for step in reach])
    curvature = np.diag(up + down - 2 * here)
    for i in range(size):
        for j in range(i):
            both = f(at + reach[i] + reach[j])
            curvature[i, j] = curvature[j, i] = both - up[i] - up[j] + here
    sizes, directions = np.linalg.eigh(curvature / REACH**2)
    covariance = directions / np.maximum(np.abs(sizes), 0.1) @ directions.T
    return (up - down) / (2 * REACH), covariance


def log_prior(log_scales: Floats, usual: Floats, spread: Floats) -> float:
    """Log density, but for a constant, of scales that are log-normal with root mean square
    `usual` and a standard deviation `spread` of their logarithm."""
    return float(-0.5 * (((log_scales - np.log(usual) + spread**2) / spread) ** 2).sum())
