"""How many days from sticking until a lot has struck, or has finished.

For a lot, T is the time until half of its living units are there. The book knows an interval:
`low`, the last record at which fewer than half were, and `high`, the first at which half or
more were (infinite while not yet). The model is

    log T ~ Normal(α[group] + γ[variety] + β[variety, method] + shared, σ²),

    shared = nursery + season + pot size + lateness in striking

with a Gaussian prior from the handbook on α; see `effects`. σ and the scales τ of γ and β are
where the evidence is highest. A lot that struck late, for its kind and season, finishes late:
how much of that lateness lasts is learned like the other effects.
"""

from dataclasses import dataclass, replace

import numpy as np
import scipy

from lots.forecast import censored, contributions, lotrows, posteriors, residuals, scales
from lots.forecast.arrays import Flags, Floats, Ints
from lots.forecast.bands import Z90
from lots.forecast.effects import Likelihood
from lots.forecast.lotrows import Indices, Known, Lots
from lots.forecast.posteriors import Posterior, Taus, Weights
from lots.forecast.residuals import Residual
from lots.forecast.scales import Model

# σ, τ of varieties and τ of cells before any lot is seen: root mean square, and standard deviation
# of the logarithm. Common practice, no source: lots of one kind differ by a tenth to a fifth, and a
# slow variety is mostly slow whichever way it is cut.
SCALES = np.array([0.13, 0.08, 0.06])
SCALES_SPREAD = np.array([0.5, 0.6, 0.6])
# How much of what a quarter, a house or a medium does to the log days of striking it mostly does to
# those of finishing: a warmer house hurries both, a hormone the roots alone. Common practice, no
# source; how it is here, the lots say.
MOVES_ON = 0.6


@dataclass(frozen=True, slots=True)
class Fit:
    """What the lots on record say: everything that a forecast needs. Of lots, those seen to get
    there are counted as known."""

    known: Known
    sigma: float
    taus: Taus
    posterior: Posterior
    log_evidence: float
    walks: Residual


@dataclass(frozen=True, slots=True)
class Late:
    """How late m lots strike, in log days against what was expected of them: mean and variance
    given what has been seen of each."""

    mean: Floats
    var: Floats


@dataclass(frozen=True, slots=True)
class LogDays:
    """A forecast for m lots: log days ~ Normal(mean, sd²), with how many lots of the cell and of
    the group have been seen to get there. With none of the group, it is as wide as the
    handbook's range, and moved by what the nursery's other lots say."""

    mean: Floats
    sd: Floats
    cell_lots: Ints
    group_lots: Ints


def fit(lots: Lots, low: Floats, high: Floats) -> Fit:
    """Fit lots that reached the stage between `low` and `high` days after sticking, (n,) each.

    high = inf for lots not there yet or lost before they were (low is then the last day they
    could be seen not to be there), low = 0 for lots there at the first look. Raises ValueError
    for an empty interval, NoConvergence when the data is beyond the model.
    """
    bad = np.flatnonzero(~((low >= 0) & (low <= high) & (high > 0)))
    if len(bad):
        raise ValueError(
            f"Lot {bad[0]} would have got there between day {low[bad[0]]:g} and day "
            f"{high[bad[0]]:g}: low must be 0 or more and at most high."
        )

    def model(some: Flags) -> Model:
        of, first, last = lotrows.pick(lots, some), low[some], high[some]
        mean, sd = handbook_moments(of)
        nest, known = lotrows.nest(of, mean, group_sd(sd), np.isfinite(last))
        return Model(nest, known, lambda sigma: _likelihood(first, last, sigma))

    found = scales.fit(model, lots, SCALES, SCALES_SPREAD)
    return Fit(
        found.known,
        found.scatter,
        found.taus,
        found.posterior,
        found.log_evidence,
        residuals.walks(lots, found.known, found.eta, found.likelihood),
    )


def _likelihood(low: Floats, high: Floats, sigma: float) -> Likelihood:
    return lambda eta: censored.log_likelihood(low, high, eta, sigma)


def handbook_moments(lots: Lots) -> tuple[Floats, Floats]:
    """Mean and standard deviation of log days of the handbook's ranges, (n,) each; the mean moved
    by what moves striking."""
    low, high = np.log(lots.expected_low), np.log(lots.expected_high)
    return (low + high) / 2 + MOVES_ON * lots.moved, (high - low) / (2 * Z90)


def group_sd(sd: Floats) -> Floats:
    """(n,) how far groups lie from the middle of a handbook's range whose standard deviation is
    `sd`. The range is of single lots: a group's middle is surer by what lots scatter."""
    return np.asarray(np.sqrt(np.maximum(sd**2 - (SCALES**2).sum(), (sd / 2) ** 2)))


def predict(fit: Fit, lots: Lots) -> LogDays:
    """The forecast at sticking for lots of whatever kind."""
    rows, at = _weights(fit, lots)
    offset, sd = handbook_moments(lots)
    own = posteriors.variance(rows, fit.posterior) + fit.sigma**2 + _unknown_var(fit, lots)
    group_lots = lotrows.count(fit.known.group_lots, at.group)
    return LogDays(
        mean=offset + rows.mean,
        sd=np.where(group_lots == 0, sd, np.sqrt(own)),
        cell_lots=lotrows.count(fit.known.cell_lots, at.cell),
        group_lots=group_lots,
    )


def parts(fit: Fit, lots: Lots) -> dict[str, Floats]:
    """(m,) log days each: the `handbook`'s middle, and what moves the mean of `predict` from it,
    by what does (see `contributions.parts`); what moved a lot's striking stands with `moved`."""
    found = contributions.parts(lots, fit.known, fit.posterior)
    carried = MOVES_ON * lots.moved
    found["time"] = found["time"] + residuals.walk_of(fit.walks, lots, fit.known)[0]
    return (
        {"handbook": handbook_moments(lots)[0] - carried}
        | found
        | {"moved": found["moved"] + carried}
    )


def effect(
    fit: Fit, name: str, word: str, against: str = "", of_striking: tuple[float, float] = (0.0, 0.0)
) -> tuple[float, float] | None:
    """What a word of a trait does to log days, less what another does ('' for none): mean and
    standard deviation; None where the fit has no lot to tell it by. What it does to those of
    striking (mean, standard deviation) moves those of finishing too."""
    moved, moved_sd = of_striking
    found = contributions.effect(fit.known, fit.posterior, name, word, against, moved)
    if found is None:
        return None
    share = MOVES_ON + float(fit.posterior.shared[lotrows.MOVED]) if moved_sd else 0.0
    return found[0] + MOVES_ON * moved, float(np.hypot(found[1], share * moved_sd))


def lateness(fit: Fit, lots: Lots, low: Floats, high: Floats) -> Late:
    """What is known of how late lots got there, that did between `low` and `high` days (n,).

    Mean and variance of the normal residual inside the interval: with nothing seen yet, 0 and
    σ². They are σ² times the slope, and σ² (1 + σ² times the curvature), of its log-likelihood.
    """
    offset, _ = handbook_moments(lots)
    eta = offset + _weights(fit, lots)[0].mean
    _, slope, curvature = censored.log_likelihood(low, high, eta, fit.sigma)
    square = fit.sigma**2
    return Late(square * slope, np.maximum(square * (1 + square * curvature), 0.0))


def moved(fit: Fit, lots: Lots) -> Floats:
    """(m,) by how many log days a lot's quarter, house and other traits move it."""
    own, _ = residuals.walk_of(fit.walks, lots, fit.known)
    return MOVES_ON * lots.moved + lotrows.moved(lots, fit.known, fit.posterior) + own


def quantile(
    days: LogDays,
    share: Floats | float,
    after: Floats | float = 0.0,
    before: Floats | float = np.inf,
) -> Floats:
    """Days after sticking by which each lot is there with probability `share`, given that it
    was not there `after` days after sticking, and was `before` days after. Shares in a column,
    (k, 1), make a row each."""
    with np.errstate(divide="ignore"):
        start = (np.log(after) - days.mean) / days.sd
        end = (np.log(before) - days.mean) / days.sd
    # Of the two tails that the day parts, the smaller keeps its digits.
    early = end < 0
    sign = np.where(early, 1.0, -1.0)
    log_tail = np.logaddexp(
        np.log1p(-share) + scipy.special.log_ndtr(sign * start),
        np.log(share) + scipy.special.log_ndtr(sign * end),
    )
    return np.asarray(np.exp(days.mean + sign * days.sd * scipy.special.ndtri_exp(log_tail)))


def draw(
    fit: Fit, lots: Lots, draws: int, rng: np.random.Generator, after: Floats | float = 0.0
) -> Floats:
    """(draws, m) days after sticking, given that they weren't there `after` days after.

    What lots have in common, not yet known well, moves them together in each draw. Lots that
    are waited for are taken to be in the fit, which so knows how long they have been.
    """
    rows, at = _weights(fit, lots)
    offset, sd = handbook_moments(lots)
    unseen = lotrows.count(fit.known.group_lots, at.group) == 0
    common = lotrows.draw(lots, rows, fit.posterior, draws, rng)
    mean = offset + np.where(unseen, rows.mean, common)
    sd = np.where(unseen, sd, np.sqrt(fit.sigma**2 + _unknown_var(fit, lots)))
    with np.errstate(divide="ignore"):
        start = (np.log(after) - mean) / sd
    log_later = np.log(rng.uniform(size=mean.shape)) + scipy.special.log_ndtr(-start)
    return np.asarray(np.exp(mean - sd * scipy.special.ndtri_exp(log_later)))


def _unknown_var(fit: Fit, lots: Lots) -> Floats:
    """(m,) what not knowing how late lots strike, and which pots they go into, adds to the
    variance of their log days."""
    by_late, by_pot = (fit.posterior.shared[column] ** 2 for column in (lotrows.LATE, lotrows.POT))
    return np.asarray(by_late * lots.late_var + by_pot * lots.pot_var)


def _weights(fit: Fit, lots: Lots) -> tuple[Weights, Indices]:
    _, sd = handbook_moments(lots)
    rows, at = lotrows.weights(lots, fit.known, fit.posterior, fit.taus, sd)
    own, own_var = residuals.walk_of(fit.walks, lots, fit.known)
    return replace(rows, mean=rows.mean + own, local=rows.local + own_var), at
