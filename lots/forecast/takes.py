"""How much of a lot takes: units struck of units stuck.

    taken ~ BetaBinomial(units, expit(η), ρ),

    η = α[group] + γ[variety] + β[variety, method] + nursery + season

with the same nested effects as the durations, on the logit scale; see `effects`. A lot that is
still open says that between `least` and `most` of its units take. ρ and the scales
τ of γ and β are where the evidence is highest.
"""

from dataclasses import dataclass

import numpy as np
import scipy

from lots.forecast import betabinomial, lotrows, posteriors, residuals, scales
from lots.forecast.arrays import Flags, Floats, Ints
from lots.forecast.bands import Z90
from lots.forecast.betabinomial import Counted
from lots.forecast.effects import Likelihood
from lots.forecast.lotrows import Known, Lots
from lots.forecast.posteriors import Posterior, Taus
from lots.forecast.residuals import Residual
from lots.forecast.scales import Model

# ρ, τ of varieties and τ of cells before any lot is seen: root mean square, and standard deviation
# of the logarithm.
# Published ρ of counted plots of cuttings and seeds run from about 0.01 to 0.2.
SCALES = np.array([0.06, 0.4, 0.3])
SCALES_SPREAD = np.array([0.8, 0.6, 0.6])
# At 1 all units of a lot take or none, and its likelihood has no bounds.
MOST_RHO = 0.95
# Shared effects reach further on the logit scale than on that of log days.
SHARED_SCALE = 2.5

NODES, NODE_WEIGHTS = np.polynomial.hermite_e.hermegauss(21)
NODE_WEIGHTS /= NODE_WEIGHTS.sum()
# Lots whose chances at all nodes are worked out together, so that they stay in the cache.
AT_ONCE = 64


@dataclass(frozen=True, slots=True)
class Fit:
    """What the lots on record say: everything that a forecast needs. Of lots, those that say
    anything of their take are counted as known."""

    known: Known
    rho: float
    taus: Taus
    posterior: Posterior
    log_evidence: float
    walks: Residual
    plants: Residual


@dataclass(frozen=True, slots=True)
class Take:
    """A forecast for m lots: the mean rate of such lots is expit(η), η ~ Normal(mean, sd²);
    single lots scatter about it with correlation `rho`. With how many lots are behind it."""

    mean: Floats
    sd: Floats
    rho: float
    cell_lots: Ints
    group_lots: Ints


def bounds(
    stuck: Ints, lost: Ints, looked_at: Ints, rooted: Ints, done: Flags
) -> tuple[Ints, Ints, Ints]:
    """Units, least and most that take, (n,) each, from what the book knows of lots.

    A lot that is done took `rooted` of its `stuck` units. Of an open one, `lost` units are gone,
    and at the last tug test `rooted` of `looked_at` living units held; the others may yet root.
    If the test was of a sample, the sample stands for itself with its share of the losses. A lot
    never looked at says only what it lost.
    """
    living = stuck - lost
    seen = np.where(looked_at > 0, np.minimum(looked_at, living), living)
    gone = np.rint(lost * seen / np.maximum(living, 1)).astype(np.intp)
    gone = np.where(living > 0, gone, lost)
    least = np.where(looked_at > 0, np.minimum(rooted, seen), 0)
    return (
        np.where(done, stuck, seen + gone),
        np.where(done, rooted, least),
        np.where(done, rooted, seen),
    )


def fit(lots: Lots, units: Ints, least: Ints, most: Ints) -> Fit:
    """Fit lots of which between `least` and `most` of `units` take, (n,) each.

    Raises ValueError unless 0 <= least <= most <= units, NoConvergence when the data is beyond
    the model.
    """
    bad = np.flatnonzero(~((least >= 0) & (least <= most) & (most <= units)))
    if len(bad):
        raise ValueError(
            f"Of lot {bad[0]} between {least[bad[0]]} and {most[bad[0]]} of {units[bad[0]]} units "
            "would take: least must be 0 or more, most at least that and at most all."
        )
    informative = most - least < units
    lots = lotrows.pick(lots, informative)
    units, least, most = units[informative], least[informative], most[informative]

    def model(some: Flags) -> Model:
        of = lotrows.pick(lots, some)
        mean, sd = handbook_moments(of)
        nest, known = lotrows.nest(of, mean, group_sd(mean, sd), np.ones(len(of), dtype=bool))
        counts = betabinomial.counted(units[some], least[some], most[some])
        return Model(nest, known, lambda rho: _likelihood(counts, rho), SHARED_SCALE)

    found = scales.fit(model, lots, SCALES, SCALES_SPREAD)
    rho = min(found.scatter, MOST_RHO)
    walks = residuals.walks(lots, found.known, found.eta, found.likelihood, SHARED_SCALE)
    eta = found.eta + residuals.walk_of(walks, lots, found.known)[0]
    plants = residuals.plants(lots, eta, found.likelihood)
    return Fit(found.known, rho, found.taus, found.posterior, found.log_evidence, walks, plants)


def _likelihood(counts: Counted, rho: float) -> Likelihood:
    return lambda eta: betabinomial.log_likelihood(counts, eta, min(rho, MOST_RHO))


def handbook_moments(lots: Lots) -> tuple[Floats, Floats]:
    """Mean and standard deviation of the logit of the handbook's ranges of takes, (n,) each."""
    low, high = scipy.special.logit(lots.expected_low), scipy.special.logit(lots.expected_high)
    return (low + high) / 2, (high - low) / (2 * Z90)


def group_sd(mean: Floats, sd: Floats) -> Floats:
    """(n,) how far groups lie from the middle of a handbook's range of takes, less by what
    varieties and lots scatter."""
    left = _rate_sd(mean, sd, SCALES[0]) ** 2 - (SCALES[1:] ** 2).sum()
    return np.asarray(np.sqrt(np.maximum(left, (sd / 2) ** 2)))


def _rate_sd(mean: Floats, sd: Floats, rho: float) -> Floats:
    """(n,) how far mean rates lie apart, on the logit scale, where single lots lie `sd` apart:
    less by the scatter of lots with correlation `rho` about their rate."""
    mu = scipy.special.expit(mean)
    return np.asarray(np.sqrt(np.maximum(sd**2 - rho / (mu * (1 - mu)), (sd / 2) ** 2)))


def predict(fit: Fit, lots: Lots) -> Take:
    """The forecast for lots of whatever kind."""
    offset, sd = handbook_moments(lots)
    rows, at = lotrows.weights(lots, fit.known, fit.posterior, fit.taus, sd)
    unseen_sd = _rate_sd(offset, sd, fit.rho)
    walk, walk_var = residuals.walk_of(fit.walks, lots, fit.known)
    plant, plant_var = residuals.plant_of(fit.plants, lots)
    var = posteriors.variance(rows, fit.posterior) + walk_var + plant_var
    return Take(
        mean=offset + rows.mean + walk + plant,
        sd=np.where(at.group < 0, unseen_sd, np.sqrt(var)),
        rho=fit.rho,
        cell_lots=lotrows.count(fit.known.cell_lots, at.cell),
        group_lots=lotrows.count(fit.known.group_lots, at.group),
    )


def mean_rate(take: Take) -> Floats:
    """(m,) expected share that takes."""
    rates = scipy.special.expit(take.mean[:, None] + take.sd[:, None] * NODES)
    return np.asarray(rates @ NODE_WEIGHTS)


def rate_quantile(take: Take, share: float) -> Floats:
    """(m,) the mean rate of such lots lies below this with probability `share`."""
    return np.asarray(scipy.special.expit(take.mean + take.sd * scipy.special.ndtri(share)))


def units_pmf(take: Take, units: Ints) -> Floats:
    """(m, largest lot + 1): probability that 0, 1, 2 … of a lot's units take."""
    pmf = np.zeros((len(units), int(units.max(initial=0)) + 1))
    for first in range(0, len(units), AT_ONCE):
        some = slice(first, first + AT_ONCE)
        eta = take.mean[some, None] + take.sd[some, None] * NODES
        of_nodes = betabinomial.pmf(np.repeat(units[some], len(NODES)), eta.ravel(), take.rho)
        mixed = NODE_WEIGHTS @ of_nodes.reshape(*eta.shape, -1)
        pmf[some, : mixed.shape[1]] = mixed
    return pmf


def between(pmf: Floats, least: Ints, most: Ints) -> Floats:
    """The same given that it is at least `least` and at most `most` (m,)."""
    number = np.arange(pmf.shape[1])
    pmf = np.where((number < least[:, None]) | (number > most[:, None]), 0.0, pmf)
    return pmf / np.maximum(pmf.sum(axis=1, keepdims=True), np.finfo(float).tiny)


def units_quantile(pmf: Floats, share: float) -> Ints:
    """(m,) the least number that is not passed with probability `share`."""
    return np.argmax(np.cumsum(pmf, axis=1) >= share - 1e-12, axis=1)


def edges_inside(pmf: Floats, low: Ints, high: Ints, shares: tuple[float, float]) -> Floats:
    """(m, 2) how much of the chance of just `low` units, and of just `high`, lies between two
    shares of the whole; pmf: (m, most + 1), low, high: (m,).

    A band of whole numbers can't end where exactly 1 in 10 would; outcomes on its edges that are
    counted so make right forecasts come to the share of the band (Czado, Gneiting and Held 2009,
    Biometrics 65:1254-1261).
    """
    reached, rows = np.cumsum(pmf, axis=1), np.arange(len(pmf))
    at_low, at_high = (np.maximum(pmf[rows, at], np.finfo(float).tiny) for at in (low, high))
    inside = [
        (reached[rows, low] - shares[0]) / at_low,
        (shares[1] - reached[rows, high]) / at_high + 1,
    ]
    return np.clip(np.stack(inside, axis=1), 0.0, 1.0)


def units_at(pmf: Floats, rank: Floats) -> Ints:
    """(draws, m) numbers of units that take, at these ranks (draws, m) of what each lot may do."""
    reached = np.cumsum(pmf, axis=1)
    return np.stack(
        [np.searchsorted(lot, column) for lot, column in zip(reached, rank.T, strict=True)],
        axis=1,
    )
