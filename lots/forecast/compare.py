"""Method against method, for a variety or a whole crop group, season and stock plant allowed for.

A grower cuts some stock plants one way and some another, and some in March and some in June: the
difference between two ways must not be the plants' or the month's. So the lots of a crop group
are fitted with, beside the effects of the forecasts (see `durations`, `take`),

    η = … + δ[plant] + ε[plant, method],   δ ~ N(0, τ²),  ε ~ N(0, (τ / 2)²).

How far plants lie apart (τ), and how much scatter is left once they are told apart, is tried on a
grid and weighed by the evidence. Lots whose plant isn't known count as one plant of the variety.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import combinations, product

import numpy as np
import scipy

from lots.forecast import betabinomial, censored, crossed, durations, lotrows, takes
from lots.forecast.arrays import Floats, Ints, Keys
from lots.forecast.effects import Likelihood
from lots.forecast.lotrows import Lots
from lots.forecast.posteriors import Taus

# Standard deviations of stock plants, of log days and of logits of takes, each as likely before
# any lot is seen, and the share of the lots' scatter that isn't the plants'. Common practice, no
# source: sister plants differ less than varieties do.
DAYS_OF_PLANTS = (0.01, 0.05, 0.1, 0.2)
TAKES_OF_PLANTS = (0.05, 0.25, 0.5, 1.0)
SCATTER_LEFT = (1.0, 0.75)
# What one way suits a plant better than another, against how plants differ whatever the way.
BY_METHOD = 0.5

DRAWS = 4000
# The same draws each time, so that a page says the same until a fit says otherwise.
SEED = 1935


@dataclass(frozen=True, slots=True)
class Estimate:
    """A mean with its central 80 % interval, and the lots and the stock plants behind it."""

    mean: float
    low: float
    high: float
    lots: int
    plants: int


@dataclass(frozen=True, slots=True)
class Comparison:
    """Two methods: each one's estimate, the difference first less second with its central 80 %
    interval, the probability that the first is the greater, and how many stock plants were cut
    both ways."""

    first: Estimate
    second: Estimate
    difference: Estimate
    first_greater: float
    both: int


@dataclass(frozen=True, slots=True)
class GroupFit:
    """The lots of one crop group, fitted for comparing.

    group, variety, plant: (n,) keys of those that say something; names: where in the design each
    effect's column is; offsets: the handbook's middle of each group; modes, each with how far
    plants lie apart in it (`plant_sds`) and with its weight; natural: from η to days or a share.
    """

    group: Keys
    variety: Keys
    plant: Keys
    names: dict[str, int]
    offsets: dict[str, float]
    modes: Sequence[crossed.Mode]
    plant_sds: Sequence[float]
    weights: Floats
    taus: Taus
    natural: Callable[[Floats], Floats]


def of_takes(lots: Lots, plant: Keys, known: tuple[Ints, Ints, Ints], usual: takes.Fit) -> GroupFit:
    """Lots of one crop group of which between least and most of units take (`known`, (n,) each),
    from stock plants `plant` (n,), '' where not known. `usual` is the nursery's fit.

    Raises NoConvergence.
    """
    units, least, most = known
    informative = most - least < units
    counts = betabinomial.counted(units[informative], least[informative], most[informative])

    def likelihood(left: float) -> Likelihood:
        rho = usual.rho * left**2
        return lambda eta: betabinomial.log_likelihood(counts, eta, rho)

    mean, sd = takes.handbook_moments(lots)
    moved = lotrows.moved(lots, usual.known, usual.posterior)
    design = _design(
        lots, plant, mean, moved, takes.group_sd(mean, sd), usual.taus, takes.SHARED_SCALE
    )
    return _fit(design, informative, likelihood, TAKES_OF_PLANTS, scipy.special.expit)


def of_days(lots: Lots, plant: Keys, seen: tuple[Floats, Floats], usual: durations.Fit) -> GroupFit:
    """Lots of one crop group that got there between low and high days (`seen`, (n,) each; those
    with low = 0 and high = inf say nothing). See `of_takes`."""
    low, high = seen
    informative = (low > 0) | np.isfinite(high)
    first, last = low[informative], high[informative]

    def likelihood(left: float) -> Likelihood:
        return lambda eta: censored.log_likelihood(first, last, eta, usual.sigma * left)

    mean, sd = durations.handbook_moments(replace(lots, moved=np.zeros(len(lots))))
    moved = durations.moved(usual, lots)
    design = _design(lots, plant, mean, moved, durations.group_sd(sd), usual.taus, 1.0)
    return _fit(design, informative, likelihood, DAYS_OF_PLANTS, np.exp)


@dataclass(frozen=True, slots=True)
class _Design:
    """Columns (n, p), the plants' from `plants_from` on, and their prior standard deviations (p,),
    those of plants in units of how far plants lie apart."""

    lots: Lots
    plant: Keys
    columns: "scipy.sparse.csr_array"
    sd: Floats
    plants_from: int
    names: dict[str, int]
    offset: Floats
    moved: Floats
    taus: Taus


def _design(
    lots: Lots,
    plant: Keys,
    offset: Floats,
    moved: Floats,
    group_sd: Floats,
    taus: Taus,
    scale: float,
) -> _Design:
    shared = lotrows.fixed_columns(lots)[:, : lotrows.LATE]
    plant_of_variety = _join(lots.variety, plant)
    _, first = np.unique(lots.group, return_index=True)
    factors: list[tuple[str, Keys, Floats | float]] = [
        ("group", lots.group, group_sd[first]),
        ("variety", lots.variety, taus.variety),
        ("pair", _join(lots.variety, lots.group), taus.cell),
        ("plant", plant_of_variety, 1.0),
        ("plant by method", _join(plant_of_variety, lots.group), BY_METHOD),
    ]
    blocks = [scipy.sparse.csr_array(shared)]
    sds = [scale * np.array([lotrows.NURSERY_SD, *[lotrows.SEASON_SD] * 2, lotrows.POT_SD])]
    names = {"nursery": 0}
    width, plants_from, rows = shared.shape[1], 0, np.arange(len(lots))
    for kind, keys, sd in factors:
        if kind == "plant":
            plants_from = width
        of, place = np.unique(keys, return_inverse=True)
        blocks.append(
            scipy.sparse.csr_array((np.ones(len(keys)), (rows, place)), shape=(len(keys), len(of)))
        )
        sds.append(np.broadcast_to(sd, len(of)))
        names |= {f"{kind} {name}": width + n for n, name in enumerate(of)}
        width += len(of)
    columns, sd = scipy.sparse.csr_array(scipy.sparse.hstack(blocks)), np.concatenate(sds)
    return _Design(lots, plant, columns, sd, plants_from, names, offset, moved, taus)


def _join(first: Keys, second: Keys) -> Keys:
    return np.char.add(np.char.add(first, " "), second)


def _fit(
    design: _Design,
    informative: np.ndarray,
    likelihood: Callable[[float], Likelihood],
    plants: Sequence[float],
    natural: Callable[[Floats], Floats],
) -> GroupFit:
    lots = design.lots
    columns = scipy.sparse.csr_array(design.columns[informative])
    offset = (design.offset + design.moved)[informative]
    modes: list[crossed.Mode] = []
    grid = list(product(plants, SCATTER_LEFT))
    for plant_sd, left in grid:
        sd = design.sd.copy()
        sd[design.plants_from :] *= plant_sd
        start = modes[-1].effects if modes else None
        modes.append(crossed.find_mode(columns, sd, offset, likelihood(left), start))
    evidence = np.array([mode.log_evidence for mode in modes])
    weights = np.exp(evidence - evidence.max())
    return GroupFit(
        group=lots.group[informative],
        variety=lots.variety[informative],
        plant=design.plant[informative],
        names=design.names,
        offsets=dict(zip(lots.group.tolist(), design.offset.tolist(), strict=True)),
        modes=modes,
        plant_sds=[plant_sd for plant_sd, _left in grid],
        weights=weights / weights.sum(),
        taus=design.taus,
        natural=natural,
    )


def compare(
    ways: GroupFit,
    groups: Sequence[str],
    variety: str | None = None,
    times: Sequence[float] | None = None,
) -> list[Comparison]:
    """Each of some groups (crop group by method) that lots of `ways` belong to against each, in
    the order of `itertools.combinations`: days, or shares that take, times what each method makes
    of them.

    For a variety cut from all of its stock plants alike, or (None) for the middle of its crop
    group; over the year.
    """
    draws = _draws(ways, groups, variety) * (times or 1.0)
    own = np.ones(len(ways.group), dtype=bool) if variety is None else ways.variety == variety
    rows = [own & (ways.group == group) for group in groups]
    plants = [frozenset(ways.plant[these].tolist()) - {""} for these in rows]
    each = [
        _estimate(column, int(these.sum()), of)
        for column, these, of in zip(draws.T, rows, plants, strict=True)
    ]
    found = []
    for one, other in combinations(range(len(groups)), 2):
        difference = draws[:, one] - draws[:, other]
        lots = each[one].lots + each[other].lots
        found.append(
            Comparison(
                first=each[one],
                second=each[other],
                difference=_estimate(difference, lots, plants[one] | plants[other]),
                first_greater=float((difference > 0).mean()),
                both=len(plants[one] & plants[other]),
            )
        )
    return found


def _draws(ways: GroupFit, groups: Sequence[str], variety: str | None) -> Floats:
    """(DRAWS, groups) on the natural scale."""
    rng = np.random.default_rng(SEED)
    offset = [ways.offsets[group] for group in groups]
    parts = []
    for n, draws in enumerate(rng.multinomial(DRAWS, ways.weights)):
        if draws:
            terms = [_terms(ways, group, variety, ways.plant_sds[n]) for group in groups]
            mean, covariance = _moments(ways, ways.modes[n], terms)
            parts.append(rng.multivariate_normal(mean + offset, covariance, draws))
    return ways.natural(np.concatenate(parts))


def _terms(
    ways: GroupFit, group: str, variety: str | None, plant_sd: float
) -> list[tuple[str, float, float]]:
    """What η is made of, less its offset: names, weights and prior standard deviations. A
    variety is cut from all of its stock plants alike."""
    terms = [("nursery", 1.0, 0.0), (f"group {group}", 1.0, 0.0)]
    if variety is None:
        return terms
    terms += [
        (f"variety {variety}", 1.0, ways.taus.variety),
        (f"pair {variety} {group}", 1.0, ways.taus.cell),
    ]
    plants = np.unique(ways.plant[ways.variety == variety]).tolist()
    for plant in plants:
        share, of = 1 / len(plants), f"{variety} {plant}"
        terms += [
            (f"plant {of}", share, plant_sd),
            (f"plant by method {of} {group}", share, BY_METHOD * plant_sd),
        ]
    return terms


def _moments(
    ways: GroupFit, mode: crossed.Mode, terms: Sequence[Sequence[tuple[str, float, float]]]
) -> tuple[Floats, Floats]:
    """Mean (m,) and covariance (m, m) of m sums of terms. A term that no lot has shown anything
    of varies as before any lot was seen, alike in all sums that have it."""
    rows = np.zeros((len(terms), len(mode.effects)))
    unseen: dict[str, Floats] = {}
    for row, of_row in enumerate(terms):
        for name, weight, sd in of_row:
            if name in ways.names:
                rows[row, ways.names[name]] = weight
            else:
                unseen.setdefault(name, np.zeros(len(terms)))[row] = weight * sd
    mean, covariance = mode.moments(rows)
    return mean, covariance + sum(np.outer(each, each) for each in unseen.values())


def _estimate(draws: Floats, lots: int, plants: frozenset[str]) -> Estimate:
    low, high = np.quantile(draws, [0.1, 0.9])
    return Estimate(float(draws.mean()), float(low), float(high), lots, len(plants))
