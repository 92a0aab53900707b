"""Lots as plain arrays, and their place in the nest of effects."""

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from lots.forecast.effects import Floats, Ints, Nest

type Keys = NDArray[np.str_]

YEAR = 365.2425
# The size of pot at which the pot-size effect is nothing.
USUAL_POT_CM = 10.0

# Shared effects and how far each may go, as standard deviations on the scale of the model:
# how far the nursery as a whole lies from the handbook, season as sine and cosine of the day of
# year, pot size as log of the diameter over the usual one, and how much of a lot's lateness in
# striking lasts till it finishes. Common practice, no source.
NURSERY_SD, SEASON_SD, POT_SD, LATE_SD = 0.25, 0.2, 0.4, 0.5
LATE = 4  # the column of the last


@dataclass(frozen=True, slots=True)
class Lots:
    """n lots, one entry each.

    group: key of crop group and method; cell: key of variety and method (each cell lies in one
    group); day_of_year: of sticking, 1 to 366, nan for none; expected_low, expected_high: the
    handbook's range for what is modelled; pot_cm: diameter of the pot to finish in, nan if not
    known; late, late_var: for days to finished, what `durations.lateness` says of the lot's
    striking, else zeros.
    """

    group: Keys
    cell: Keys
    day_of_year: Floats
    expected_low: Floats
    expected_high: Floats
    pot_cm: Floats
    late: Floats
    late_var: Floats

    def __len__(self) -> int:
        return len(self.group)


def pick(lots: Lots, rows: NDArray[np.bool_]) -> Lots:
    """Some of the lots."""
    return Lots(*(getattr(lots, field.name)[rows] for field in fields(Lots)))


def shared_columns(lots: Lots) -> Floats:
    """(n, 5): what each shared effect is multiplied by. An unknown pot counts as the usual size,
    an unknown day as the middle of the year's swing."""
    angle = 2 * np.pi * lots.day_of_year / YEAR
    pot = np.log(lots.pot_cm / USUAL_POT_CM)
    columns = np.column_stack([np.ones(len(lots)), np.sin(angle), np.cos(angle), pot, lots.late])
    return np.asarray(np.nan_to_num(columns))


def nest(lots: Lots, offset: Floats, sd: Floats, scale: float = 1.0) -> tuple[Nest, Keys, Keys]:
    """The nest of these lots, with the keys of its cells and groups in order.

    offset, sd: (n,) the handbook's mean and standard deviation on the scale of the model; a
    group takes those of its first lot. Shared effects may go `scale` times as far as above.
    """
    cells, first_of_cell, cell = np.unique(lots.cell, return_index=True, return_inverse=True)
    groups, first_of_group, group = np.unique(lots.group, return_index=True, return_inverse=True)
    return (
        Nest(
            cell=cell,
            group=group[first_of_cell],
            shared=shared_columns(lots),
            offset=offset,
            group_sd=sd[first_of_group],
            shared_sd=scale * np.array([NURSERY_SD, SEASON_SD, SEASON_SD, POT_SD, LATE_SD]),
        ),
        cells,
        groups,
    )


def place(keys: Keys, known: Keys) -> Ints:
    """Where each key stands among the sorted `known` keys, -1 where it isn't there."""
    if not len(known):
        return np.full(len(keys), -1, dtype=np.intp)
    found = np.minimum(np.searchsorted(known, keys), len(known) - 1)
    return np.where(known[found] == keys, found, -1)


def count(of: Ints, place: Ints) -> Ints:
    """`of[place]`, 0 where place is -1."""
    return np.where(place < 0, 0, of[place]) if len(of) else np.zeros_like(place)
