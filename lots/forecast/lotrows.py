"""Lots as plain arrays, and their place in the nest of effects."""

from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from typing import Any

import numpy as np
import scipy
from numpy.typing import NDArray

from lots.forecast import drift, posteriors, sparse
from lots.forecast.arrays import Flags, Floats, Ints, Keys
from lots.forecast.effects import Nest
from lots.forecast.posteriors import Posterior, Taus, Weights
from lots.forecast.sparse import Sparse

YEAR = 365.2425
# The size of pot at which the pot-size effect is nothing.
USUAL_POT_CM = 10.0

# Shared effects and how far each may go, as standard deviations on the scale of the model:
# how far the nursery as a whole lies from the handbook, season as sine and cosine of the day of
# year, pot size as log of the diameter over the usual one, how much of a lot's lateness in striking
# lasts till it finishes, and how much more, or less, than usual of what moves striking moves
# finishing. Common practice, no source. The handbook's ranges hold all
# nurseries and the whole year: were the first two much larger, the first lots of one season would
# make a forecast for another wider than the handbook's.
NURSERY_SD, SEASON_SD, POT_SD, LATE_SD, MOVED_SD = 0.15, 0.12, 0.4, 0.5, 0.3
POT, LATE, MOVED = 3, 4, 5  # the columns of the last three

# What lots have in common beside their kind, each told by a word: how far one such thing may lie
# from another. Houses and benches scatter as the evidence says; the others are common practice, no
# source. A change that somebody noted may be large: that is why it was noted.
PLACES = ("house", "bench")
TRAIT_SD = 0.08
CHANGE_SD = 0.3
CHANGE = "change "  # begins the name of one that was noted
# Traits that are told by what the others leave over (see `residuals`): a lot's crop group, and its
# stock plant, of which there may be thousands.
CROP, PLANT = "crop", "plant"
# Benches beyond so many are told by their house alone.
MOST_LEVELS = 80
# Values to try of scales that may be nothing: how the nursery's level moves in a quarter, and how
# far houses, and benches in them, lie apart; in log days. Common practice, no source.
DRIFTS = {"walk": (0.0, 0.015, 0.03, 0.06), "trend": (0.0, 0.0125, 0.025, 0.05)}
APART = (0.0, 0.03, 0.06, 0.12, 0.24)
# Scales are found by about so many lots.
SAMPLE = 2000
LEAST_SD = 1e-3  # of houses and benches where the evidence says they don't differ


@dataclass(frozen=True, slots=True)
class Lots:
    """n lots, one entry each.

    group: key of crop group and method; variety: key of variety; day_of_year: of sticking, 1 to
    366, nan for none; expected_low, expected_high: the handbook's range for what is modelled;
    pot_cm: diameter of the pot to finish in, nan if not known; pot_var: variance of its logarithm
    where it is a guess; late, late_var, moved: for days to finished, what `durations.lateness` and
    `durations.moved` say of the lot's striking, else zeros; day: of sticking, counted from
    whenever, nan for none; traits: words that lots share by the name of what they tell (a house, a
    medium), '' where not known.
    """

    group: Keys
    variety: Keys
    day_of_year: Floats
    expected_low: Floats
    expected_high: Floats
    pot_cm: Floats
    pot_var: Floats
    late: Floats
    late_var: Floats
    moved: Floats
    day: Floats
    traits: Mapping[str, Keys]

    def __len__(self) -> int:
        return len(self.group)


def pick(lots: Lots, rows: Flags) -> Lots:
    """Some of the lots."""
    plain = {
        field.name: getattr(lots, field.name)[rows]
        for field in fields(Lots)
        if field.name != "traits"
    }
    traits = {name: words[rows] for name, words in lots.traits.items()}
    return Lots(**plain, traits=traits)


def fixed_columns(lots: Lots) -> Floats:
    """(n, 6): what the shared effects of every nursery are multiplied by. An unknown pot counts as
    the usual size, an unknown day as the middle of the year's swing."""
    angle = 2 * np.pi * lots.day_of_year / YEAR
    pot = np.log(lots.pot_cm / USUAL_POT_CM)
    told = np.ones(len(lots)), np.sin(angle), np.cos(angle), pot, lots.late, lots.moved
    return np.asarray(np.nan_to_num(np.column_stack(told)))


@dataclass(frozen=True, slots=True)
class Known:
    """What a fit has seen. groups, varieties: sorted keys; cells: sorted numbers, each its group's
    index times the number of varieties plus its variety's; group_lots, cell_lots: how many lots
    of each said something; first_day, last_day: of sticking, and how many knots the level of the
    nursery has from the first on (see `drift`); levels: the words of each trait."""

    groups: Keys
    varieties: Keys
    cells: Ints
    group_lots: Ints
    cell_lots: Ints
    first_day: float
    last_day: float
    knots: int
    levels: Mapping[str, Keys]


@dataclass(frozen=True, slots=True)
class Indices:
    """Where m lots belong in a fit: indices, -1 for what it hasn't seen."""

    group: Ints
    variety: Ints
    cell: Ints


def nest(lots: Lots, offset: Floats, sd: Floats, informative: Flags) -> tuple[Nest, Known]:
    """The nest of these lots and what they make known.

    offset, sd: (n,) the handbook's mean and standard deviation on the scale of the model; a
    group takes those of its first lot. informative: (n,) which lots count as lots behind a
    forecast.
    """
    groups, first_of_group, group = np.unique(lots.group, return_index=True, return_inverse=True)
    varieties, variety = np.unique(lots.variety, return_inverse=True)
    cells, first_of_cell, cell = np.unique(
        group * len(varieties) + variety, return_index=True, return_inverse=True
    )
    first_day, knots = drift.knots(lots.day)
    known = Known(
        groups=groups,
        varieties=varieties,
        cells=cells,
        group_lots=np.bincount(group[informative], minlength=len(groups)),
        cell_lots=np.bincount(cell[informative], minlength=len(cells)),
        first_day=first_day,
        last_day=float(np.nanmax(lots.day)) if knots else first_day,
        knots=knots,
        levels=_levels(lots.traits),
    )
    return (
        Nest(
            cell=cell,
            group=group[first_of_cell],
            variety=variety[first_of_cell],
            varieties=len(varieties),
            shared=shared_columns(lots, known),
            offset=offset,
            group_sd=sd[first_of_group],
        ),
        known,
    )


def _levels(traits: Mapping[str, Keys]) -> dict[str, Keys]:
    """The words of each trait that tells lots apart."""
    found = {name: np.unique(words) for name, words in traits.items() if name not in (CROP, PLANT)}
    return {
        name: words[words != ""]
        for name, words in found.items()
        if len(words) > 1 and (name not in PLACES or len(words) <= MOST_LEVELS)
    }


def words(lots: Lots, name: str) -> Keys:
    """(n,) the words of a trait, '' where none is known."""
    return lots.traits.get(name, np.full(len(lots), ""))


def days(lots: Lots, known: Known) -> Floats:
    """(n,) of sticking; a lot without a day counts as one of the last day known."""
    return np.where(np.isfinite(lots.day), lots.day, known.last_day)


def shared_columns(lots: Lots, known: Known) -> Sparse:
    """(n, K): what each shared effect is multiplied by: the fixed ones, the knots of the nursery's
    level, the words of traits. A word that the fit hasn't seen counts for nothing."""
    parts = [
        sparse.of_dense(fixed_columns(lots)),
        drift.columns(days(lots, known), known.first_day, known.knots),
    ]
    for name, levels in known.levels.items():
        at = index(words(lots, name), levels)
        there = (at >= 0).astype(float)
        parts.append(Sparse(np.maximum(at, 0)[:, None], there[:, None], len(levels)))
    return sparse.side_by_side(*parts)


def moved(lots: Lots, known: Known, posterior: Posterior) -> Floats:
    """(m,) what adds to η beside a lot's kind, the season and its pot: the nursery's level on the
    day of sticking, houses and other traits, and more, or less, than usual of what moves
    striking."""
    effects = posterior.shared.copy()
    effects[:MOVED] = 0.0
    return shared_columns(lots, known).times(effects)


def shared_precision(known: Known, taus: Taus, scale: float = 1.0) -> Floats:
    """(K, K) prior precision of the shared effects, which may go `scale` times as far as above; the
    scales of `taus` as they are."""
    fixed = scale * np.array([NURSERY_SD, SEASON_SD, SEASON_SD, POT_SD, LATE_SD, MOVED_SD])
    parts = [np.diag(fixed**-2.0)]
    if known.knots:
        parts.append(drift.precision(known.knots, taus.walk, taus.trend))
    for name, levels in known.levels.items():
        parts.append(np.eye(len(levels)) * _trait_sd(name, taus, scale) ** -2.0)
    return np.asarray(scipy.linalg.block_diag(*parts))


def tried(known: Known, scale: float = 1.0) -> list[dict[str, list[float]]]:
    """Values to try of the scales that these lots can say anything of: grids, as `scales` takes
    them."""
    grids: list[Mapping[str, tuple[float, ...]]] = [DRIFTS] if known.knots else []
    grids += [{name: APART} for name in PLACES if name in known.levels]
    return [
        {name: [scale * value for value in values] for name, values in grid.items()}
        for grid in grids
    ]


def _trait_sd(name: str, taus: Taus, scale: float) -> float:
    if name in PLACES:
        return max(float(getattr(taus, name)), LEAST_SD)
    return scale * (CHANGE_SD if name.startswith(CHANGE) else TRAIT_SD)


def unseen_var(lots: Lots, known: Known, taus: Taus) -> Floats:
    """(m,) what not knowing the house or the bench adds to the variance of η."""
    total = np.zeros(len(lots))
    for name in PLACES:
        if name in known.levels:
            at = index(words(lots, name), known.levels[name])
            total += np.where(at < 0, getattr(taus, name) ** 2, 0.0)
    return total


def indices(lots: Lots, known: Known) -> Indices:
    """Where lots belong in a fit."""
    group, variety = index(lots.group, known.groups), index(lots.variety, known.varieties)
    number = np.where((group < 0) | (variety < 0), -1, group * len(known.varieties) + variety)
    return Indices(group, variety, index(number, known.cells))


def weights(
    lots: Lots, known: Known, posterior: Posterior, taus: Taus, group_sd: Floats
) -> tuple[Weights, Indices]:
    """How lots depend on a fit's effects, and where they belong in it; see `posteriors.weights`."""
    at = indices(lots, known)
    shared = shared_columns(lots, known).dense()
    found = posteriors.weights(posterior, taus, at.group, at.variety, at.cell, shared, group_sd)
    return replace(found, local=found.local + unseen_var(lots, known, taus)), at


def draw(
    lots: Lots, rows: Weights, posterior: Posterior, draws: int, rng: np.random.Generator
) -> Floats:
    """(draws, m) joint draws of η, less its offset, of lots with these weights."""
    _, variety = np.unique(lots.variety, return_inverse=True)
    _, group = np.unique(lots.group, return_inverse=True)
    cell = group * (len(variety) + 1) + variety
    return posteriors.draw(rows, posterior, variety, cell, draws, rng)


def sample(lots: Lots) -> Flags:
    """(n,) lots to find scales by: all, or those of every so many varieties of a large book, whose
    scales so many say well enough."""
    _, variety = np.unique(lots.variety, return_inverse=True)
    return np.asarray(variety % max(1, len(lots) // SAMPLE) == 0)


def index(keys: NDArray[Any], known: NDArray[Any]) -> Ints:
    """Where each key stands among the sorted `known` keys, -1 where it isn't there."""
    if not len(known):
        return np.full(len(keys), -1, dtype=np.intp)
    found = np.minimum(np.searchsorted(known, keys), len(known) - 1)
    return np.where(known[found] == keys, found, -1)


def count(of: Ints, place: Ints) -> Ints:
    """`of[place]`, 0 where place is -1."""
    return np.where(place < 0, 0, of[place]) if len(of) else np.zeros_like(place)
