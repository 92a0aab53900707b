"""Method against method, for a variety or a whole crop group, by the nursery's own lots."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import lru_cache
from itertools import combinations

import numpy as np
from django.db.models import F

from lots.forecast import compare
from lots.forecast.compare import Comparison, Ways
from lots.models import CropGroup, Cut, Fit, Lot, Method, Variety
from lots.outlook import facts, kept
from lots.outlook.fits import Fits


@dataclass(frozen=True, slots=True)
class Pair:
    """Two methods. take: share of units; struck, finished: days; pots: finished pots from one
    leaf or shoot, None where the book doesn't say how many pieces one gives."""

    first: Method
    second: Method
    take: Comparison
    struck: Comparison
    finished: Comparison
    pots: Comparison | None


def pairs(
    group: CropGroup, variety: Variety | None, methods: Sequence[tuple[Method, float]]
) -> list[Pair]:
    """Each method against each, for a variety or (None) the middle of its crop group; season and
    stock plant are allowed for. `methods`, by all of which lots of the group were stuck, come
    with the usual number of pieces a unit."""
    if len(methods) < 2:
        return []
    read_at = Fit.objects.values_list("read_at", flat=True).first()
    fits = kept.newest()
    ways = _kept(group.pk, read_at) if read_at else _ways(group.pk, fits)
    of = str(variety.pk) if variety else None
    groups = [f"{group.pk}/{method.pk}" for method, _pieces in methods]
    takes, struck, finished = (compare.compare(each, groups, of) for each in ways)
    units = [_units_a_source(*way) for way in methods]
    pots = compare.compare(ways[0], groups, of, [(unit or 0) * fits.survival for unit in units])
    found = []
    for n, (one, other) in enumerate(combinations(range(len(methods)), 2)):
        told = pots[n] if units[one] and units[other] else None
        both = methods[one][0], methods[other][0]
        found.append(Pair(*both, takes[n], struck[n], finished[n], told))
    return found


@lru_cache(maxsize=64)
def _kept(group: int, read_at: datetime) -> tuple[Ways, Ways, Ways]:
    """The lots of a crop group, fitted once for each fit of the book."""
    return _ways(group, kept.newest())


def _ways(group: int, fits: Fits) -> tuple[Ways, Ways, Ways]:
    """Takes, days to struck and days to finished of the lots of a crop group."""
    stuck = Lot.objects.filter(variety__group=group, stuck_on__isnull=False).order_by("pk")
    known = facts.standing(stuck)
    rows = fits.rows(known)
    mothers = _main_plants(group)
    plant = np.array([mothers.get(lot.pk, "") for lot in known], dtype=np.str_)
    took = rows.took
    days = []
    for lots, seen, tells, fit in (
        (rows.struck, rows.seen_struck, rows.tells_struck, fits.struck),
        (rows.finished, rows.seen_finished, rows.tells_finished, fits.finished),
    ):
        looks = np.where(tells, seen.low, 0.0), np.where(tells, seen.high, np.inf)
        days.append(compare.of_days(lots, plant, looks, fit))
    takes = compare.of_takes(rows.take, plant, (took.units, took.least, took.most), fits.take)
    return takes, *days


def _main_plants(group: int) -> dict[int, str]:
    """Lot → the stock plant that gave most of its pieces."""
    cuts = Cut.objects.filter(lot__variety__group=group, lot__stuck_on__isnull=False)
    # The last one stays.
    most_last = cuts.order_by(F("pieces").asc(nulls_first=True), "-order", "-pk")
    return {lot: str(plant) for lot, plant in most_last.values_list("lot", "stock_plant")}


def _units_a_source(method: Method, pieces_a_unit: float) -> float | None:
    return method.pieces_per_source / pieces_a_unit if method.pieces_per_source else None
