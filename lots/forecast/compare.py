"""Method against method, for a variety or a whole crop group."""

from dataclasses import dataclass

import numpy as np
from scipy.special import expit

from lots.forecast import durations, lotrows
from lots.forecast import take as takes
from lots.forecast.arrays import Floats
from lots.forecast.lotrows import Lots
from lots.forecast.posterior import Taus

DRAWS = 4000
# The same draws each time, so that a page says the same until a fit says otherwise.
SEED = 1935


@dataclass(frozen=True, slots=True)
class Estimate:
    """A mean with its central 80 % interval, and the lots behind it."""

    mean: float
    low: float
    high: float
    lots: int


@dataclass(frozen=True, slots=True)
class Comparison:
    """Two methods: each one's estimate, the difference first less second with its central 80 %
    interval, and the probability that the first is the greater."""

    first: Estimate
    second: Estimate
    difference: Estimate
    first_greater: float


def take(fit: takes.Fit, lots: Lots) -> Comparison:
    """Mean take by two methods. `lots` has two entries, one for each method; see `_draws`."""
    offset, sd = takes.handbook_moments(lots)
    eta = offset + _draws(fit, lots, sd)
    return _compare(expit(eta), _behind(fit, lots))


def days(fit: durations.Fit, lots: Lots) -> Comparison:
    """Median days by two methods. `lots` has two entries, one for each method; see `_draws`."""
    offset, sd = durations.handbook_moments(lots)
    return _compare(np.exp(offset + _draws(fit, lots, sd)), _behind(fit, lots))


def _draws(fit: durations.Fit | takes.Fit, lots: Lots, sd: Floats) -> Floats:
    """(draws, 2) of η less its offset. Entries with an empty `variety` mean the crop group's
    middle; with `day_of_year` nan, the year's."""
    taus = Taus(0.0, 0.0) if (lots.variety == "").all() else fit.taus
    rows, _ = lotrows.weights(lots, fit.known, fit.posterior, taus, sd)
    return lotrows.draw(lots, rows, fit.posterior, DRAWS, np.random.default_rng(SEED))


def _behind(fit: durations.Fit | takes.Fit, lots: Lots) -> list[int]:
    at = lotrows.places(lots, fit.known)
    whole_group = (lots.variety == "").all()
    counts = (
        lotrows.count(fit.known.group_lots, at.group)
        if whole_group
        else lotrows.count(fit.known.cell_lots, at.cell)
    )
    return [int(count) for count in counts]


def _compare(draws: Floats, behind: list[int]) -> Comparison:
    difference = draws[:, 0] - draws[:, 1]
    return Comparison(
        first=_estimate(draws[:, 0], behind[0]),
        second=_estimate(draws[:, 1], behind[1]),
        difference=_estimate(difference, sum(behind)),
        first_greater=float((difference > 0).mean()),
    )


def _estimate(draws: Floats, behind: int) -> Estimate:
    low, high = np.quantile(draws, [0.1, 0.9])
    return Estimate(float(draws.mean()), float(low), float(high), behind)
