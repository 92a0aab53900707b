"""How far things scatter: the scales of a model, found where the evidence is highest."""

from collections.abc import Callable
from dataclasses import dataclass
from itertools import product

import numpy as np

from lots.forecast import effects, lotrows
from lots.forecast.arrays import Flags, Floats
from lots.forecast.effects import Likelihood, Nest, NoConvergence
from lots.forecast.lotrows import Known, Lots
from lots.forecast.posteriors import Posterior, Taus

# Numerical slopes and curvatures look this far along a log scale.
REACH = 0.03
LONGEST_STEP = 1.0
STEPS = 40
# Settled when a step would gain less than this in log evidence: the step after it is taken on
# trust.
TOLERANCE = 0.05


@dataclass(frozen=True, slots=True)
class Model:
    """Lots in their nest. likelihood: of the lots, for a scatter; scale: how much further shared
    effects reach than on that of log days."""

    nest: Nest
    known: Known
    likelihood: Callable[[float], Likelihood]
    scale: float = 1.0

    def mode(self, scatter: float, taus: Taus, start: Posterior | None = None) -> effects.Mode:
        """The most likely effects for given scales. Raises NoConvergence."""
        precision = lotrows.shared_precision(self.known, taus, self.scale)
        return effects.find_mode(self.nest, taus, precision, self.likelihood(scatter), start)


@dataclass(frozen=True, slots=True)
class Fitted:
    """Nested effects given the data, with their scales: the scatter of single lots about η (σ of
    log days, ρ of takes) and τ; η of the lots (n,), and their likelihood."""

    known: Known
    scatter: float
    taus: Taus
    posterior: Posterior
    log_evidence: float
    eta: Floats
    likelihood: Likelihood


def fit(model: Callable[[Flags], Model], lots: Lots, usual: Floats, spread: Floats) -> Fitted:
    """The effects of lots by empirical Bayes.

    model: of some of the lots; usual, spread: (3,) what is known of scatter, τ of varieties and τ
    of cells before any lot is seen, as `log_prior` takes it. Of a large book the scales are found
    by a part. Raises NoConvergence.
    """
    scatter, taus = _settle(model(lotrows.sample(lots)), usual, spread)
    whole = model(np.ones(len(lots), dtype=bool))
    found = whole.mode(scatter, taus)
    return Fitted(
        whole.known,
        scatter,
        taus,
        found.posterior,
        found.log_evidence,
        found.eta,
        whole.likelihood(scatter),
    )


def _settle(model: Model, usual: Floats, spread: Floats) -> tuple[float, Taus]:
    """Scatter and τ. Those that may be nothing are tried grid by grid, each value a third as likely
    as the one below it before any lot is seen; then the others settle anew."""
    last: Posterior | None = None
    others: dict[str, float] = {}

    def log_evidence(log_scales: Floats) -> float:
        nonlocal last
        scatter, variety, cell = (float(scale) for scale in np.exp(log_scales))
        found = model.mode(scatter, Taus(variety, cell, **others), last)
        last = found.posterior  # the next scales are near: Newton's method begins there
        return found.log_evidence + log_prior(log_scales, usual, spread)

    settled = empirical_bayes(log_evidence, np.log(usual))
    grids = lotrows.tried(model.known, model.scale)
    for grid in grids:
        before, evidence = dict(others), []
        points = list(product(*grid.values()))
        for point in points:
            others |= zip(grid, point, strict=True)
            steps = sum(values.index(at) for values, at in zip(grid.values(), point, strict=True))
            evidence.append(log_evidence(settled) - steps * np.log(3))
        weights = np.exp(np.array(evidence) - max(evidence))
        squares = np.square(points).T @ weights / weights.sum()
        others = before | dict(zip(grid, np.sqrt(squares).tolist(), strict=True))
    if grids:
        settled = empirical_bayes(log_evidence, settled)
    scatter, variety, cell = (float(scale) for scale in np.exp(settled))
    return scatter, Taus(variety, cell, **others)


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
