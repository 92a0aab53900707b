"""How far things scatter: the scales of a model, found where the evidence is highest."""

from collections.abc import Callable

import numpy as np
from scipy.optimize import minimize

from lots.forecast.effects import Floats

# Step for numerical slopes and curvature, in log scale: the evidence is smooth and its own
# error far smaller.
STEP = 1e-3
# Good enough: the slope of the log evidence by a log scale.
SLOPE = 2e-2


def settle(log_evidence: Callable[[Floats], float], start: list[float]) -> Floats:
    """Log scales that stand for their posterior: log of the root of the mean square.

    `log_evidence` takes log scales (their prior included). Around its maximum, at m, a log scale
    is about Normal(m, v), v from the curvature there; the scale's mean square is then
    exp(2 m + 2 v). Predicting with that instead of exp(2 m) lets little data say less.
    """

    def cost(log_scales: Floats) -> float:
        return -log_evidence(log_scales)

    found = minimize(cost, start, method="BFGS", options={"gtol": SLOPE, "eps": STEP})
    mode = np.asarray(found.x)
    return mode + np.diag(np.linalg.inv(_curvature(cost, mode)))


def _curvature(cost: Callable[[Floats], float], at: Floats) -> Floats:
    """Second derivatives of `cost` by central differences."""
    size, steps = len(at), 30 * STEP * np.eye(len(at))
    found = np.empty((size, size))
    here = cost(at)
    for i in range(size):
        found[i, i] = cost(at + steps[i]) + cost(at - steps[i]) - 2 * here
        for j in range(i):
            found[i, j] = found[j, i] = (
                cost(at + steps[i] + steps[j])
                + cost(at - steps[i] - steps[j])
                - cost(at + steps[i] - steps[j])
                - cost(at - steps[i] + steps[j])
            ) / 4
    return np.asarray(found / steps[0, 0] ** 2)


def log_prior(log_scales: Floats, middle: Floats, spread: Floats) -> float:
    """Log density, but for a constant, of log scales ~ Normal(log middle, spread²)."""
    return float(-0.5 * (((log_scales - np.log(middle)) / spread) ** 2).sum())
