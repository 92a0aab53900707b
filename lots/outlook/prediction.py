"""Facts of lots in, what is expected of them out: numbers in arrays, nothing of the database."""

from collections.abc import Sequence
from dataclasses import dataclass, fields, is_dataclass
from datetime import date
from itertools import chain
from typing import Any

import numpy as np

from lots.forecast import arrivals, durations, surprise, takes
from lots.forecast.arrays import Floats, Ints
from lots.forecast.bands import Z90
from lots.forecast.durations import LogDays
from lots.forecast.takes import Take
from lots.outlook.facts import Facts
from lots.outlook.fits import Fits
from lots.outlook.rows import Interval, TakeBounds
from lots.outlook.sizes import Pots
from lots.outlook.stages import Arrivals, arrive

SHARES = (0.1, 0.5, 0.9)
# Lots at once: the table of chances of every number of units has a row a lot.
BATCH = 2000
# Chances are told for every number of so many units; a larger lot is counted in steps.
FINEST = 500


@dataclass(frozen=True, slots=True)
class StageForecast:
    """Days from sticking to a stage, (n, 3) each for a chance of 10, 50 and 90 in 100: `days`
    given all that was seen, `usual` as for any lot of its kind; `seldom` (n,) are days after
    which 1 such lot in 40 is still not there; `behind` (n,) own lots stand behind it."""

    days: Floats
    usual: Floats
    seldom: Floats
    behind: Ints


@dataclass(frozen=True, slots=True)
class ToCome:
    """Pots of n lots that are not finished yet and will be, as expected, (n,) each: of those that
    `growing` are, and to be made of `cells`; band: (n, 2) of both together. `pots` are those that
    a lot's cells go into; `growing_on` and `cells_on` (n,) the days after sticking on which each
    of them is expected, the first one first."""

    growing: Ints
    cells: Ints
    band: Ints
    pots: list[Pots]
    growing_on: list[Floats]
    cells_on: list[Floats]


@dataclass(frozen=True, slots=True)
class Prediction:
    """What is expected of n lots. take: (n,) mean share of units; units: (n, 3) that take, by
    chance; edges: (n, 2) how much of the lowest and the highest of those lies in the central 80 %;
    losses: (n,) the chance that a lot of the kind loses as many units as this one has."""

    struck: StageForecast
    finished: StageForecast
    take: Floats
    units: Ints
    edges: Floats
    to_come: ToCome
    losses: Floats
    take_behind: Ints


def predict(fits: Fits, lots: Sequence[Facts], today: date | None = None) -> Prediction:
    """The forecast of lots as they stand on a day; None stands for the day of sticking."""
    batches = [_predict(fits, lots[n : n + BATCH], today) for n in range(0, len(lots), BATCH)]
    return batches[0] if len(batches) == 1 else _join(batches or [_predict(fits, [], today)])


def _predict(fits: Fits, lots: Sequence[Facts], today: date | None) -> Prediction:
    rows = fits.rows(lots)
    take = takes.predict(fits.take, rows.take)
    chances = chances_of_units(take, rows.take_bounds)
    stuck, step = chances.stuck, chances.step
    mean = (chances.pmf * np.arange(chances.pmf.shape[1])).sum(axis=1) / stuck
    steps = _columns(takes.units_quantile(chances.pmf, share) for share in SHARES)
    units = step[:, None] * steps
    struck = durations.predict(fits.struck, rows.struck)
    finished = durations.predict(fits.finished, rows.finished)
    coming = arrive(fits, lots, rows, struck, finished, today)
    return Prediction(
        struck=_stage_forecast(struck, rows.struck_interval),
        finished=StageForecast(
            days=coming.days(mostly_in_cells(lots)),
            usual=_usual(finished),
            seldom=durations.quantile(finished, 1 - surprise.SELDOM),
            behind=finished.group_lots,
        ),
        take=mean,
        units=units,
        edges=takes.edges_inside(chances.pmf, steps[:, 0], steps[:, 2], (SHARES[0], SHARES[2])),
        to_come=_to_come(fits, lots, mean, units, coming),
        losses=surprise.chance_of_losses(chances.usual, stuck, stuck - chances.ceiling),
        take_behind=take.group_lots,
    )


def _to_come(
    fits: Fits, lots: Sequence[Facts], take: Floats, units: Ints, coming: Arrivals
) -> ToCome:
    pots = [fits.sizes.of(lot) for lot in lots]
    survival = fits.survival_of(lots)
    a_unit = np.array([each.a_unit for each in pots], dtype=float)
    stuck = np.array([lot.units for lot in lots], dtype=float)
    growing, cells = (survival * part for part in pots_to_come(lots, take * stuck, a_unit))
    growing, cells = (np.rint(part).astype(np.intp) for part in (growing, cells))
    chances = surviving(sum(pots_to_come(lots, units.T, a_unit)).T, survival)
    expected = growing + cells
    band = np.stack(
        [np.minimum(chances[:, 0], expected), np.maximum(chances[:, 2], expected)], axis=1
    )

    def on(days: Floats, after: Floats, count: Ints) -> list[Floats]:
        return [
            arrivals.pot_days(days[:, n], float(after[n]), int(pots), fits.spread)
            if pots
            else np.zeros(0)
            for n, pots in enumerate(count)
        ]

    return ToCome(
        growing,
        cells,
        band,
        pots,
        on(coming.potted, coming.after_potted, growing),
        on(coming.cells, coming.after_cells, cells),
    )


@dataclass(frozen=True, slots=True)
class Chances:
    """The chance of every number of units, in steps: `step` (n,) units each, `usual` (n, most + 1)
    for any lot of its kind and `pmf` given what was seen; `stuck` and `ceiling` (n,) in steps."""

    step: Ints
    usual: Floats
    pmf: Floats
    stuck: Ints
    ceiling: Ints


def chances_of_units(take: Take, take_bounds: TakeBounds) -> Chances:
    """How many units of each lot take, given all that was seen of it."""
    step = -(-take_bounds.stuck // FINEST)
    stuck, least, ceiling = (
        take_bounds.stuck // step,
        take_bounds.least // step,
        take_bounds.ceiling // step,
    )
    usual = takes.units_pmf(take, stuck)
    return Chances(step, usual, takes.between(usual, least, ceiling), stuck, ceiling)


def pots_to_come(
    lots: Sequence[Facts], units: Floats | Ints, a_unit: Floats
) -> tuple[Floats, Floats]:
    """Pots that are not finished yet and will be if none is lost any more, (…, n) each: those that
    grow, and those to be made of cells, if so many `units` (…, n) of the lots take and make
    `a_unit` (n,) pots each."""

    def column(values) -> Ints:
        return np.fromiter(values, dtype=np.intp, count=len(lots))

    growing = column(lot.pots_growing for lot in lots)
    gone = column(lot.pots_finished + lot.pots_left for lot in lots)
    potted = column(lot.units_potted for lot in lots)
    # A planned lot has no pots yet, also where it is to be stuck straight into them.
    in_pots = np.fromiter(
        (lot.direct and lot.stuck_on is not None for lot in lots), dtype=bool, count=len(lots)
    )
    from_pots = np.where(in_pots, np.clip(units - gone, 0, growing), growing)
    return from_pots, np.where(in_pots, 0, np.maximum(units - potted, 0) * a_unit)


def mostly_in_cells(lots: Sequence[Facts]) -> np.ndarray:
    """(n,) whether more units of a lot are in cells, or are to be stuck, than in pots."""
    return np.fromiter(
        (not lot.direct and (lot.stuck_on is None or lot.cells > lot.units_potted) for lot in lots),
        dtype=bool,
        count=len(lots),
    )


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


def _stage_forecast(days: LogDays, seen: Interval) -> StageForecast:
    return StageForecast(
        days=_columns(durations.quantile(days, share, seen.low, seen.high) for share in SHARES),
        usual=_usual(days),
        seldom=durations.quantile(days, 1 - surprise.SELDOM),
        behind=days.group_lots,
    )


def _usual(days: LogDays) -> Floats:
    return _columns(durations.quantile(days, share) for share in SHARES)


def _columns(columns) -> np.ndarray:
    return np.stack(list(columns), axis=1)


def _join(batches: list) -> Any:
    """One of what are several of the same kind: arrays and lists end to end."""
    first = batches[0]
    if is_dataclass(first):
        parts = ([getattr(batch, field.name) for batch in batches] for field in fields(first))
        return type(first)(*map(_join, parts))
    return [*chain(*batches)] if isinstance(first, list) else np.concatenate(batches)
