"""Joint draws of what is here and coming, by variety and pot size."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from datetime import date

import numpy as np

from lots.forecast import weeks
from lots.forecast.arrays import Floats, Ints
from lots.outlook.calendar import Kind
from lots.outlook.facts import Facts
from lots.outlook.fits import Fits
from lots.outlook.flushes import flushes

SEED = 4711


def supply(
    fits: Fits,
    known: Sequence[Facts],
    days: Mapping[Kind, Sequence[date]],
    today: date,
    off: Floats,
) -> dict[Kind, Ints]:
    """(draws, days) of each kind, pots that are there by the end of each of its days, the first
    first: finished ones, and those that lots give by then. Pots of a variety that have no size yet
    count for the first size that is asked for. off: (draws,) what lots share (`enough.common`)."""
    sizes: dict[int, Kind] = {}
    for kind in days:
        sizes.setdefault(kind.variety, kind)
    here: dict[Kind, int] = defaultdict(int)
    for lot in known:
        here[Kind(lot.variety, lot.direct_pot_size or lot.pot_size)] += lot.pots_finished
    found = {
        kind: np.full((len(off), len(those)), here[kind], dtype=np.intp)
        for kind, those in days.items()
    }
    alive = [lot for lot in known if lot.cells or lot.pots_growing]
    if not alive:
        return found
    rng = np.random.default_rng(SEED)
    drawn = flushes(fits, alive, len(off), today, rng, off)
    kinds = [Kind(alive[n].variety, fits.sizes.of(alive[n]).size) for n in drawn.lot]
    kinds = [sizes.get(kind.variety, kind) if kind.size is None else kind for kind in kinds]
    for kind, those in days.items():
        some = np.array([n for n, own in enumerate(kinds) if own == kind], dtype=np.intp)
        if not len(some):
            continue
        start = [alive[n].stuck_on for n in drawn.lot[some]]
        # From today to each day, both included.
        ends = [today, *those]
        edges = np.array(
            [[(day - stuck).days + (n > 0) for n, day in enumerate(ends)] for stuck in start],
            dtype=float,
        )
        growing = weeks.Growing(
            drawn.after[some], np.maximum(edges, 0), np.zeros(len(some), dtype=np.intp)
        )
        counts = weeks.finishing(
            drawn.days[:, some], drawn.pots[:, some], growing, fits.spread, rng
        )
        found[kind] = found[kind] + np.cumsum(counts[:, 0], axis=1)
    return found
