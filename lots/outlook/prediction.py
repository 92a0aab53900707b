"""Facts of lots in, what is expected of them out: numbers in arrays, nothing of the database."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from lots.forecast import durations, surprise
from lots.forecast import take as takes
from lots.forecast.durations import Days
from lots.forecast.effects import Floats, Ints
from lots.outlook.facts import Facts
from lots.outlook.fits import Fits
from lots.outlook.rows import Seen

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
    """What is expected of n lots. take: (n,) mean share of units; units: (n, 3) by chance;
    losses: (n,) the chance that a lot of the kind loses as many units as this one has."""

    struck: Course
    finished: Course
    take: Floats
    units: Ints
    losses: Floats
    take_behind: Ints


def predict(fits: Fits, lots: Sequence[Facts]) -> Prediction:
    """The forecast of lots as they stand."""
    batches = [_predict(fits, lots[n : n + BATCH]) for n in range(0, len(lots), BATCH)]
    return batches[0] if len(batches) == 1 else _join(batches or [_predict(fits, [])])


def _predict(fits: Fits, lots: Sequence[Facts]) -> Prediction:
    rows = fits.rows(lots)
    took = rows.took
    take = takes.predict(fits.take, rows.take)
    step = -(-took.stuck // FINEST)
    stuck, least, ceiling = took.stuck // step, took.least // step, took.ceiling // step
    pmf = takes.units_pmf(take, stuck, least, ceiling)
    mean = (pmf * np.arange(pmf.shape[1])).sum(axis=1) / stuck
    return Prediction(
        struck=_course(durations.predict(fits.struck, rows.struck), rows.seen_struck),
        finished=_course(durations.predict(fits.finished, rows.finished), rows.seen_finished),
        take=mean,
        units=_columns(step * takes.units_quantile(pmf, share) for share in SHARES),
        losses=surprise.chance_of_losses(take, stuck, stuck - ceiling),
        take_behind=take.group_lots,
    )


def _course(days: Days, seen: Seen) -> Course:
    return Course(
        days=_columns(_given(days, share, seen) for share in SHARES),
        usual=_columns(durations.quantile(days, share) for share in SHARES),
        seldom=durations.quantile(days, 1 - surprise.SELDOM),
        behind=days.group_lots,
    )


def _given(days: Days, share: float, seen: Seen) -> Floats:
    """The quantile inside what was seen. What came so early that the model can't tell when
    between two looks is put in their middle."""
    with np.errstate(invalid="ignore"):
        told = durations.quantile(days, share, seen.low, seen.high)
    middle = seen.low + share * (np.where(np.isfinite(seen.high), seen.high, seen.low) - seen.low)
    return np.clip(np.where(np.isfinite(told), told, middle), seen.low, seen.high)


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
        whole("losses"),
        whole("take_behind"),
    )
