"""Facts of lots in, what is expected of them out: numbers in arrays, nothing of the database."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from lots.forecast import durations, surprise
from lots.forecast import take as takes
from lots.forecast.arrays import Floats, Ints
from lots.forecast.durations import Days
from lots.forecast.lognormal import Z90
from lots.forecast.take import Take
from lots.outlook.facts import Facts
from lots.outlook.fits import Fits
from lots.outlook.rows import Seen, Took

SHARES = (0.1, 0.5, 0.9)
# Lots at once: the table of chances of every number of units has a row a lot.
BATCH = 2000
# Chances are told for every number of so many units; a larger lot is counted in steps.
FINEST = 500


@dataclass(frozen=True, slots=True)
class Course:
    """Days from sticking to a stage, (n, 3) each for a chance of 10, 50 and 90 in 100: `days`
    given all that was seen, `usual` as for any lot of its kind; `seldom` (n,) are days after
    which 1 such lot in 40 is still not there; `behind` (n,) own lots stand behind it."""

    days: Floats
    usual: Floats
    seldom: Floats
    behind: Ints


@dataclass(frozen=True, slots=True)
class Prediction:
    """What is expected of n lots. take: (n,) mean share of units; units: (n, 3) that take, by
    chance; pots: (n, 3) finished here and to come; losses: (n,) the chance that a lot of the kind
    loses as many units as this one has."""

    struck: Course
    finished: Course
    take: Floats
    units: Ints
    pots: Ints
    losses: Floats
    take_behind: Ints


def predict(fits: Fits, lots: Sequence[Facts]) -> Prediction:
    """The forecast of lots as they stand."""
    batches = [_predict(fits, lots[n : n + BATCH]) for n in range(0, len(lots), BATCH)]
    return batches[0] if len(batches) == 1 else _join(batches or [_predict(fits, [])])


def _predict(fits: Fits, lots: Sequence[Facts]) -> Prediction:
    rows = fits.rows(lots)
    take = takes.predict(fits.take, rows.take)
    chances = chances_of_units(take, rows.took)
    stuck, step = chances.stuck, chances.step
    mean = (chances.pmf * np.arange(chances.pmf.shape[1])).sum(axis=1) / stuck
    units = _columns(step * takes.units_quantile(chances.pmf, share) for share in SHARES)
    come = surviving(pots_to_come(lots, units.T).T, fits.survival_of(lots))
    here = np.array([lot.pots_finished for lot in lots], dtype=np.intp)
    return Prediction(
        struck=_course(durations.predict(fits.struck, rows.struck), rows.seen_struck),
        finished=_course(durations.predict(fits.finished, rows.finished), rows.seen_finished),
        take=mean,
        units=units,
        pots=come + here[:, None],
        losses=surprise.chance_of_losses(take, stuck, stuck - chances.ceiling),
        take_behind=take.group_lots,
    )


@dataclass(frozen=True, slots=True)
class Chances:
    """The chance of every number of units, in steps: `step` (n,) units each, `pmf` (n, most + 1);
    `stuck` and `ceiling` (n,) in steps."""

    step: Ints
    pmf: Floats
    stuck: Ints
    ceiling: Ints


def chances_of_units(take: Take, took: Took) -> Chances:
    """How many units of each lot take, given all that was seen of it."""
    step = -(-took.stuck // FINEST)
    stuck, least, ceiling = took.stuck // step, took.least // step, took.ceiling // step
    return Chances(step, takes.units_pmf(take, stuck, least, ceiling), stuck, ceiling)


def pots_to_come(lots: Sequence[Facts], units: Ints) -> Ints:
    """Pots that are not finished yet and will be if none is lost any more: (…, n), if so many
    `units` (…, n) of the lots take."""

    def column(values) -> Ints:
        return np.fromiter(values, dtype=np.intp, count=len(lots))

    growing = column(lot.pots_growing for lot in lots)
    gone = column(lot.pots_finished + lot.pots_left for lot in lots)
    potted = column(lot.units_potted for lot in lots)
    # A planned lot has no pots yet, also where it is to be stuck straight into them.
    in_pots = np.fromiter(
        (lot.direct and lot.stuck_on is not None for lot in lots), dtype=bool, count=len(lots)
    )
    from_pots = np.clip(units - gone, 0, growing)
    return np.where(in_pots, from_pots, np.maximum(units - potted, 0) + growing)


def surviving(pots: Ints, survival: Floats) -> Ints:
    """How many of so many pots (n, 3), by chance, finish if each survives with probability
    `survival` (n,): that pots are lost by chance widens the band to the left and to the right."""
    low, middle, high = pots.T
    centre = survival * middle
    by_chance = Z90 * np.sqrt(survival * (1 - survival) * middle)
    down = np.hypot(survival * (middle - low), by_chance)
    up = np.hypot(survival * (high - middle), by_chance)
    found = np.stack([centre - down, centre, np.minimum(centre + up, high)], axis=1)
    return np.rint(np.maximum(found, 0.0)).astype(np.intp)


def _course(days: Days, seen: Seen) -> Course:
    return Course(
        days=_columns(durations.quantile(days, share, seen.low, seen.high) for share in SHARES),
        usual=_columns(durations.quantile(days, share) for share in SHARES),
        seldom=durations.quantile(days, 1 - surprise.SELDOM),
        behind=days.group_lots,
    )


def _columns(columns) -> np.ndarray:
    return np.stack(list(columns), axis=1)


def _join(batches: list[Prediction]) -> Prediction:
    def course(name: str) -> Course:
        parts = [getattr(batch, name) for batch in batches]
        return Course(
            *(
                np.concatenate([getattr(part, field) for part in parts])
                for field in ("days", "usual", "seldom", "behind")
            )
        )

    def whole(name: str) -> np.ndarray:
        return np.concatenate([getattr(batch, name) for batch in batches])

    return Prediction(
        course("struck"),
        course("finished"),
        whole("take"),
        whole("units"),
        whole("pots"),
        whole("losses"),
        whole("take_behind"),
    )
