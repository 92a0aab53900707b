"""When the pots of lots come, as far as their stages allow: those that grow, and those to be made
of what still stands in cells."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
import scipy

from lots.forecast import arrivals
from lots.forecast.arrays import Floats
from lots.forecast.durations import LogDays
from lots.outlook.facts import Facts
from lots.outlook.fits import Fits
from lots.outlook.rows import Rows

# Standard deviations by which a lot that struck late may catch up as it grows on (common practice,
# no source).
CATCH_UP = 1.0


@dataclass(frozen=True, slots=True)
class Arrivals:
    """Days from sticking until half of a lot's pots are there, as nodes (NODES, n): of `potted`,
    and of those to be made of `cells`; `before` as for the lot before its stages are heeded. None
    of them was, or can be, finished `after_potted` and `after_cells` (n,) days after sticking."""

    before: Floats
    potted: Floats
    cells: Floats
    after_potted: Floats
    after_cells: Floats

    def days(self, in_cells: np.ndarray) -> Floats:
        """(n, 3) days by which half of each lot is there with a chance of 10, 50 and 90 in 100:
        of what stands in cells, where that is the greater part (n,), else of its pots."""
        found = np.where(in_cells, self.cells, self.potted)
        return np.asarray(found[list(arrivals.BAND)].T)


def arrive(
    fits: Fits,
    lots: Sequence[Facts],
    rows: Rows,
    struck: LogDays,
    finished: LogDays,
    today: date | None,
) -> Arrivals:
    """When the pots of lots come; `today` None stands for the day of sticking.

    What has not struck has yet to strike and to grow on, and what was potted up on a day, or is to
    be on `today` at the earliest, has yet to make its way in its pot. Of a lot that is in its time
    this says nothing new; one that is late does not catch up all at once.
    """

    def column(values) -> Floats:
        return np.fromiter(values, dtype=float, count=len(lots))

    low, high = rows.finished_interval.low, rows.finished_interval.high
    before = arrivals.nodes(finished, low, np.full(len(lots), np.inf))
    now = column(_age(lot, today) for lot in lots)
    # What nobody has seen struck has not.
    strikes = arrivals.nodes(
        struck, np.maximum(rows.struck_interval.low, now), np.full(len(lots), np.inf)
    )
    # Days from striking to finish, and those of them in the pot, by the same ranks.
    grows = np.maximum(np.exp(finished.mean) - np.exp(struck.mean), 0.0)
    z = scipy.special.ndtri(arrivals.SHARES)[:, None]
    growing = grows * np.exp(finished.sd * (z - CATCH_UP))
    in_pot = grows * np.exp(fits.in_pot.mean + np.hypot(finished.sd, fits.in_pot.sd) * z)
    unstruck = np.array([lot.struck_on is None for lot in lots], dtype=bool)
    direct = np.array([lot.direct for lot in lots], dtype=bool)
    by_strike = np.where(unstruck, strikes + growing, 0.0)
    late_pots = column(_age(lot, lot.potted_on) for lot in lots) + in_pot * np.exp(-finished.sd)
    by_pot = np.where([lot.potted_on is not None for lot in lots], late_pots, 0.0)
    by_pot = np.where(direct, by_strike, by_pot)
    by_cell = np.where(direct, 0.0, now + in_pot)

    done = column(lot.pots_finished + lot.pots_left for lot in lots)
    pots = column(lot.pots_growing + lot.pots_finished + lot.pots_left for lot in lots)
    # A lot of which half is still in cells may well have finished half of its pots.
    known = np.isfinite(high) | (2 * done < pots)
    potted = arrivals.nodes(finished, np.where(known, low, 0.0), high)
    looked = column(_age(lot, lot.seen_on) for lot in lots)
    # What has begun to finish says itself how near the others are.
    potted = np.where(done > 0, potted, np.maximum(potted, by_pot))
    potted = arrivals.condition_on_first_pots(potted, done, pots, looked, fits.spread)
    return Arrivals(
        before=before,
        potted=potted,
        cells=np.maximum(before, np.maximum(by_strike, by_cell)),
        after_potted=np.where(done > 0, looked, np.maximum(looked, by_pot[0])),
        after_cells=np.maximum(by_strike, by_cell)[0],
    )


def _age(lot: Facts, day: date | None) -> int:
    return max((day - lot.stuck_on).days, 0) if day and lot.stuck_on else 0
