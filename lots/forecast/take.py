"""How much of a lot takes: units struck of units stuck.

    taken ~ BetaBinomial(units, expit(η), ρ),  η = α[group] + β[cell] + nursery + season

with the same nested effects as the durations, on the logit scale; see `effects`. A lot that is
still open says that between `least` and `most` of its units take. ρ and τ are where the
evidence is highest.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import expit, logit, ndtri

from lots.forecast import betabinomial, effects, lotrows, scales
from lots.forecast.effects import Floats, Ints, Posterior
from lots.forecast.lognormal import Z90
from lots.forecast.lotrows import Keys, Lots

# ρ and τ before any lot is seen: root mean square, and standard deviation of the logarithm.
# Published ρ of counted plots of cuttings and seeds run from about 0.01 to 0.2.
SCALES = np.array([0.06, 0.5])
SCALES_SPREAD = np.array([0.8, 0.6])
# Shared effects reach further on the logit scale than on that of log days.
SHARED_SCALE = 2.5

NODES, NODE_WEIGHTS = np.polynomial.hermite_e.hermegauss(21)
NODE_WEIGHTS /= NODE_WEIGHTS.sum()


@dataclass(frozen=True, slots=True)
class Fit:
    """What the lots on record say. groups, cells: sorted keys; group_lots, cell_lots: how many
    lots of each said anything about their take."""

    groups: Keys
    cells: Keys
    group_lots: Ints
    cell_lots: Ints
    rho: float
    tau: float
    posterior: Posterior
    log_evidence: float


@dataclass(frozen=True, slots=True)
class Take:
    """A forecast for m lots: the mean rate of such lots is expit(η), η ~ Normal(mean, sd²);
    single lots scatter about it with correlation `rho`. With how many lots are behind it."""

    mean: Floats
    sd: Floats
    rho: float
    cell_lots: Ints
    group_lots: Ints


def counted(
    stuck: Ints, lost: Ints, looked_at: Ints, rooted: Ints, done: NDArray[np.bool_]
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
    says = most - least < units
    lots, units, least, most = lotrows.pick(lots, says), units[says], least[says], most[says]
    mean, sd = handbook_moments(lots)
    group_sd = np.sqrt(
        np.maximum(_rate_sd(mean, sd, SCALES[0]) ** 2 - SCALES[1] ** 2, (sd / 2) ** 2)
    )
    nest, cells, groups = lotrows.nest(lots, mean, group_sd, SHARED_SCALE)
    last: Posterior | None = None

    def mode(log_scales: Floats) -> effects.Mode:
        nonlocal last
        rho, tau = min(float(np.exp(log_scales[0])), 0.95), float(np.exp(log_scales[1]))
        found = effects.find_mode(
            nest, tau, lambda eta: betabinomial.log_likelihood(units, least, most, eta, rho), last
        )
        last = found.posterior
        return found

    def log_evidence(log_scales: Floats) -> float:
        prior = scales.log_prior(log_scales, SCALES, SCALES_SPREAD)
        return mode(log_scales).log_evidence + prior

    settled = scales.settle(log_evidence, np.log(SCALES))
    found = mode(settled)
    return Fit(
        groups=groups,
        cells=cells,
        group_lots=np.bincount(nest.group[nest.cell], minlength=len(groups)),
        cell_lots=np.bincount(nest.cell, minlength=len(cells)),
        rho=min(float(np.exp(settled[0])), 0.95),
        tau=float(np.exp(settled[1])),
        posterior=found.posterior,
        log_evidence=found.log_evidence,
    )


def handbook_moments(lots: Lots) -> tuple[Floats, Floats]:
    """Mean and standard deviation of the logit of the handbook's ranges of takes, (n,) each."""
    low, high = logit(lots.expected_low), logit(lots.expected_high)
    return (low + high) / 2, (high - low) / (2 * Z90)


def _rate_sd(mean: Floats, sd: Floats, rho: float) -> Floats:
    """(n,) how far mean rates lie apart, on the logit scale, where single lots lie `sd` apart:
    less by the scatter of lots with correlation `rho` about their rate."""
    mu = expit(mean)
    return np.asarray(np.sqrt(np.maximum(sd**2 - rho / (mu * (1 - mu)), (sd / 2) ** 2)))


def predict(fit: Fit, lots: Lots) -> Take:
    """The forecast for lots of whatever kind."""
    group, cell = lotrows.place(lots.group, fit.groups), lotrows.place(lots.cell, fit.cells)
    offset, sd = handbook_moments(lots)
    rows = effects.weights(fit.posterior, fit.tau, group, cell, lotrows.shared_columns(lots), sd)
    unseen_sd = _rate_sd(offset, sd, fit.rho)
    return Take(
        mean=offset + rows.mean,
        sd=np.where(group < 0, unseen_sd, np.sqrt(effects.variance(rows, fit.posterior))),
        rho=fit.rho,
        cell_lots=lotrows.count(fit.cell_lots, cell),
        group_lots=lotrows.count(fit.group_lots, group),
    )


def mean_rate(take: Take) -> Floats:
    """(m,) expected share that takes."""
    rates = expit(take.mean[:, None] + take.sd[:, None] * NODES)
    return np.asarray(rates @ NODE_WEIGHTS)


def rate_quantile(take: Take, share: float) -> Floats:
    """(m,) the mean rate of such lots lies below this with probability `share`."""
    return np.asarray(expit(take.mean + take.sd * ndtri(share)))


def units_pmf(take: Take, units: Ints, least: Ints | int = 0, most: Ints | None = None) -> Floats:
    """(m, largest lot + 1): probability that 0, 1, 2 … of a lot's units take, given that it is
    at least `least` and at most `most`."""
    most = units if most is None else most
    pmf = np.zeros((len(units), int(units.max(initial=0)) + 1))
    for node, weight in zip(NODES, NODE_WEIGHTS, strict=True):
        pmf += weight * betabinomial.pmf(units, take.mean + take.sd * node, take.rho)
    number = np.arange(pmf.shape[1])
    least = np.broadcast_to(least, units.shape)
    pmf[(number < least[:, None]) | (number > most[:, None])] = 0.0
    return pmf / np.maximum(pmf.sum(axis=1, keepdims=True), np.finfo(float).tiny)


def units_quantile(pmf: Floats, share: float) -> Ints:
    """(m,) the least number that is not passed with probability `share`."""
    return np.argmax(np.cumsum(pmf, axis=1) >= share - 1e-12, axis=1)


def draw_units(pmf: Floats, draws: int, rng: np.random.Generator) -> Ints:
    """(draws, m) numbers of units that take."""
    reached = np.cumsum(pmf, axis=1)
    chance = rng.uniform(size=(draws, len(pmf)))
    return np.stack(
        [np.searchsorted(lot, column) for lot, column in zip(reached, chance.T, strict=True)],
        axis=1,
    )
