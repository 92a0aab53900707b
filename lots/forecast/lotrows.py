"""Lots as plain arrays, and their place in the nest of effects."""

from dataclasses import dataclass, fields
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lots.forecast import posteriors
from lots.forecast.arrays import Flags, Floats, Ints, Keys
from lots.forecast.effects import Nest
from lots.forecast.posteriors import Posterior, Taus, Weights

YEAR = 365.2425
# The size of pot at which the pot-size effect is nothing.
USUAL_POT_CM = 10.0

# Shared effects and how far each may go, as standard deviations on the scale of the model:
# how far the nursery as a whole lies from the handbook, season as sine and cosine of the day of
# year, pot size as log of the diameter over the usual one, and how much of a lot's lateness in
# striking lasts till it finishes. Common practice, no source. The handbook's ranges hold all
# nurseries and the whole year: were the first two much larger, the first lots of one season would
# make a forecast for another wider than the handbook's.
NURSERY_SD, SEASON_SD, POT_SD, LATE_SD = 0.15, 0.12, 0.4, 0.5
POT, LATE = 3, 4  # the columns of the last two


@dataclass(frozen=True, slots=True)
class Lots:
    """n lots, one entry each.

    group: key of crop group and method; variety: key of variety; day_of_year: of sticking, 1 to
    366, nan for none; expected_low, expected_high: the handbook's range for what is modelled;
    pot_cm: diameter of the pot to finish in, nan if not known; pot_var: variance of its logarithm
    where it is a guess; late, late_var: for days to finished, what `durations.lateness` says of
    the lot's striking, else zeros.
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

    def __len__(self) -> int:
        return len(self.group)


def pick(lots: Lots, rows: Flags) -> Lots:
    """Some of the lots."""
    return Lots(*(getattr(lots, field.name)[rows] for field in fields(Lots)))


def shared_columns(lots: Lots) -> Floats:
    """(n, 5): what each shared effect is multiplied by. An unknown pot counts as the usual size,
    an unknown day as the middle of the year's swing."""
    angle = 2 * np.pi * lots.day_of_year / YEAR
    pot = np.log(lots.pot_cm / USUAL_POT_CM)
    columns = np.column_stack([np.ones(len(lots)), np.sin(angle), np.cos(angle), pot, lots.late])
    return np.asarray(np.nan_to_num(columns))


@dataclass(frozen=True, slots=True)
class Known:
    """What a fit has seen. groups, varieties: sorted keys; cells: sorted numbers, each its group's
    index times the number of varieties plus its variety's; group_lots, cell_lots: how many lots
    of each said something."""

    groups: Keys
    varieties: Keys
    cells: Ints
    group_lots: Ints
    cell_lots: Ints


@dataclass(frozen=True, slots=True)
class Indices:
    """Where m lots belong in a fit: indices, -1 for what it hasn't seen."""

    group: Ints
    variety: Ints
    cell: Ints


def nest(
    lots: Lots, offset: Floats, sd: Floats, informative: Flags, scale: float = 1.0
) -> tuple[Nest, Known]:
    """The nest of these lots and what they make known.

    offset, sd: (n,) the handbook's mean and standard deviation on the scale of the model; a
    group takes those of its first lot. informative: (n,) which lots count as lots behind a
    forecast. Shared effects may go `scale` times as far as above.
    """
    groups, first_of_group, group = np.unique(lots.group, return_index=True, return_inverse=True)
    varieties, variety = np.unique(lots.variety, return_inverse=True)
    cells, first_of_cell, cell = np.unique(
        group * len(varieties) + variety, return_index=True, return_inverse=True
    )
    return (
        Nest(
            cell=cell,
            group=group[first_of_cell],
            variety=variety[first_of_cell],
            varieties=len(varieties),
            shared=shared_columns(lots),
            offset=offset,
            group_sd=sd[first_of_group],
            shared_sd=scale * np.array([NURSERY_SD, SEASON_SD, SEASON_SD, POT_SD, LATE_SD]),
        ),
        Known(
            groups=groups,
            varieties=varieties,
            cells=cells,
            group_lots=np.bincount(group[informative], minlength=len(groups)),
            cell_lots=np.bincount(cell[informative], minlength=len(cells)),
        ),
    )


def indices(lots: Lots, known: Known) -> Indices:
    """Where lots belong in a fit."""
    group, variety = _index(lots.group, known.groups), _index(lots.variety, known.varieties)
    number = np.where((group < 0) | (variety < 0), -1, group * len(known.varieties) + variety)
    return Indices(group, variety, _index(number, known.cells))


def weights(
    lots: Lots, known: Known, posterior: Posterior, taus: Taus, group_sd: Floats
) -> tuple[Weights, Indices]:
    """How lots depend on a fit's effects, and where they belong in it; see `posteriors.weights`."""
    at = indices(lots, known)
    shared = shared_columns(lots)
    return (
        posteriors.weights(posterior, taus, at.group, at.variety, at.cell, shared, group_sd),
        at,
    )


def draw(
    lots: Lots, rows: Weights, posterior: Posterior, draws: int, rng: np.random.Generator
) -> Floats:
    """(draws, m) joint draws of η, less its offset, of lots with these weights."""
    _, variety = np.unique(lots.variety, return_inverse=True)
    _, group = np.unique(lots.group, return_inverse=True)
    cell = group * (len(variety) + 1) + variety
    return posteriors.draw(rows, posterior, variety, cell, draws, rng)


def _index(keys: NDArray[Any], known: NDArray[Any]) -> Ints:
    """Where each key stands among the sorted `known` keys, -1 where it isn't there."""
    if not len(known):
        return np.full(len(keys), -1, dtype=np.intp)
    found = np.minimum(np.searchsorted(known, keys), len(known) - 1)
    return np.where(known[found] == keys, found, -1)


def count(of: Ints, place: Ints) -> Ints:
    """`of[place]`, 0 where place is -1."""
    return np.where(place < 0, 0, of[place]) if len(of) else np.zeros_like(place)
