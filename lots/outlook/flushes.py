"""Draws of the pots that standing lots will yet give, and when."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
import scipy

from lots.forecast import arrivals, durations, takes
from lots.forecast.arrays import Floats, Ints
from lots.forecast.takes import Take
from lots.outlook.facts import Facts
from lots.outlook.fits import Fits
from lots.outlook.prediction import chances_of_units, pots_to_come
from lots.outlook.stages import arrive


@dataclass(frozen=True, slots=True)
class Flushes:
    """Pots of one lot that come together: those that grow, or those to be made of its cells. lot:
    (m,) its index; days: (draws, m) until half are there; pots: (draws, m) that will yet finish;
    after: (m,) age at which none was."""

    lot: Ints
    days: Floats
    pots: Ints
    after: Floats


def flushes(
    fits: Fits,
    lots: Sequence[Facts],
    draws: int,
    today: date,
    rng: np.random.Generator,
    off: Floats | None = None,
) -> Flushes:
    """Draws of what lots give. off: (draws,) by how many standard deviations the mean take of their
    kind lies off, where they are to share that; else each has its own."""
    rows = fits.rows(lots)
    struck = durations.predict(fits.struck, rows.struck)
    finished = durations.predict(fits.finished, rows.finished)
    coming = arrive(fits, lots, rows, struck, finished, today)
    days = durations.draw(fits.finished, rows.finished, draws, rng, rows.finished_interval.low)
    take = takes.predict(fits.take, rows.take)
    chances = chances_of_units(take, rows.take_bounds)
    rank = rng.uniform(size=(draws, len(lots)))
    if off is not None:
        rank = _together(take, chances.stuck, off, rank)
    units = chances.step * takes.units_at(chances.pmf, rank)
    a_unit = np.array([fits.sizes.of(lot).a_unit for lot in lots], dtype=float)
    survival = fits.survival_of(lots)
    growing, cells = (
        rng.binomial(np.rint(pots).astype(np.intp), survival)
        for pots in pots_to_come(lots, units, a_unit)
    )
    grow = np.flatnonzero([lot.pots_growing > 0 for lot in lots])
    stand = np.flatnonzero([lot.cells > 0 for lot in lots])
    return Flushes(
        lot=np.concatenate([grow, stand]),
        days=np.concatenate(
            [
                arrivals.move_by_rank(days[:, part], coming.before[:, part], to[:, part])
                for part, to in ((grow, coming.potted), (stand, coming.cells))
            ],
            axis=1,
        ),
        pots=np.concatenate([growing[:, grow], cells[:, stand]], axis=1),
        after=np.concatenate([coming.after_potted[grow], coming.after_cells[stand]]),
    )


def _together(take: Take, stuck: Ints, off: Floats, rank: Floats) -> Floats:
    """(draws, m) ranks of lots among their like, which go up and down together in part: as much as
    what is not known of their mean take has in what is not known of them."""
    mean = scipy.special.expit(take.mean)
    apart = (take.rho + (1 - take.rho) / stuck) / (mean * (1 - mean))
    common = take.sd**2 / (take.sd**2 + apart)
    z = np.sqrt(common) * off[:, None] + np.sqrt(1 - common) * scipy.special.ndtri(rank)
    return np.asarray(scipy.special.ndtr(z))
