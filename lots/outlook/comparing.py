"""Method against method, for a variety or a whole crop group, by the nursery's own lots."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from functools import lru_cache
from itertools import combinations

import numpy as np

from lots.forecast import compare
from lots.forecast.compare import Comparison, Estimate, GroupFit
from lots.forecast.lotrows import PLANT
from lots.models import CropGroup, Fit, Lot, Method, Variety
from lots.outlook import facts, stored_fit
from lots.outlook.fits import Fits

# What methods can be put in order by: an attribute of `MethodFigures` and of `Pair`, and whether
# more of it is better.
MORE_IS_BETTER = {"take": True, "finished": False, "pots": True}


@dataclass(frozen=True, slots=True)
class MethodFigures:
    """A method by itself. take: share of units; struck, finished: days; pots: finished pots from
    one leaf or shoot, None where the book doesn't say how many pieces one gives."""

    method: Method
    take: Estimate
    struck: Estimate
    finished: Estimate
    pots: Estimate | None


@dataclass(frozen=True, slots=True)
class Pair:
    """Two methods, by the figures of `MethodFigures`; pots is None where either's are."""

    first: Method
    second: Method
    take: Comparison
    struck: Comparison
    finished: Comparison
    pots: Comparison | None

    def turned(self) -> "Pair":
        """The same, the second first."""
        figures = [self.take, self.struck, self.finished]
        pots = self.pots and _turned(self.pots)
        return Pair(self.second, self.first, *map(_turned, figures), pots)


@dataclass(frozen=True, slots=True)
class Compared:
    """Methods, and each against each: `pairs` has every two, both ways round, by their keys."""

    ways: list[MethodFigures]
    pairs: dict[tuple[int, int], Pair]

    def ranked(self, by: str) -> list[MethodFigures]:
        """Best first by one of `MORE_IS_BETTER`; those of which that isn't known come last."""
        sign = -1 if MORE_IS_BETTER[by] else 1
        known = [way for way in self.ways if getattr(way, by)]
        unknown = [way for way in self.ways if not getattr(way, by)]
        return sorted(known, key=lambda way: sign * getattr(way, by).mean) + unknown

    def pair(self, one: MethodFigures, other: MethodFigures) -> Pair:
        return self.pairs[one.method.pk, other.method.pk]


def better(pair: Pair, by: str) -> float:
    """The probability that the first of a pair is better than the second by what is known of
    both."""
    greater = getattr(pair, by).first_greater
    return greater if MORE_IS_BETTER[by] else 1 - greater


def compared(
    group: CropGroup, variety: Variety | None, methods: Sequence[tuple[Method, float]]
) -> Compared:
    """Two or more methods, each against each, for a variety or (None) the middle of its crop
    group; season and stock plant are allowed for. `methods`, by all of which lots of the group
    were stuck, come with the usual number of pieces a unit."""
    read_at = Fit.objects.values_list("read_at", flat=True).first()
    fits = stored_fit.newest()
    groups = [f"{group.pk}/{method.pk}" for method, _pieces in methods]
    ways = _kept(group.pk, frozenset(groups), read_at) if read_at else _ways(group.pk, fits)
    of = str(variety.pk) if variety else None
    units = [_units_a_source(*way) for way in methods]
    figures = [compare.compare(each, groups, of) for each in ways]
    times = [(unit or 0) * fits.survival for unit in units]
    figures.append(compare.compare(ways[0], groups, of, times))
    alone: dict[int, MethodFigures] = {}
    pairs: dict[tuple[int, int], Pair] = {}
    for n, (i, j) in enumerate(combinations(range(len(methods)), 2)):
        one, other = methods[i][0], methods[j][0]
        *told, pots = (found[n] for found in figures)
        pair = Pair(one, other, *told, pots if units[i] and units[j] else None)
        pairs[one.pk, other.pk], pairs[other.pk, one.pk] = pair, pair.turned()
        alone[one.pk] = MethodFigures(
            one, *(of.first for of in told), pots.first if units[i] else None
        )
        alone[other.pk] = MethodFigures(
            other, *(of.second for of in told), pots.second if units[j] else None
        )
    return Compared([alone[method.pk] for method, _pieces in methods], pairs)


def _turned(of: Comparison) -> Comparison:
    told = of.difference
    difference = replace(told, mean=-told.mean, low=-told.high, high=-told.low)
    return Comparison(of.second, of.first, difference, 1 - of.first_greater, of.both)


@lru_cache(maxsize=64)
def _kept(
    group: int, _methods: frozenset[str], _read_at: datetime
) -> tuple[GroupFit, GroupFit, GroupFit]:
    """The lots of a crop group, fitted once for each fit of the book, and anew when a lot is
    stuck by a method that none was stuck by before."""
    return _ways(group, stored_fit.newest())


def _ways(group: int, fits: Fits) -> tuple[GroupFit, GroupFit, GroupFit]:
    """Takes, days to struck and days to finished of the lots of a crop group."""
    stuck = Lot.objects.filter(variety__group=group, stuck_on__isnull=False).order_by("pk")
    known = facts.standing(stuck)
    rows = fits.rows(known)
    plant = rows.take.traits[PLANT]
    bounds = rows.take_bounds
    days = []
    for lots, seen, informs, fit in (
        (rows.struck, rows.struck_interval, rows.struck_informs, fits.struck),
        (rows.finished, rows.finished_interval, rows.finished_informs, fits.finished),
    ):
        looks = np.where(informs, seen.low, 0.0), np.where(informs, seen.high, np.inf)
        days.append(compare.of_days(lots, plant, looks, fit))
    takes = compare.of_takes(rows.take, plant, (bounds.units, bounds.least, bounds.most), fits.take)
    return takes, *days


def _units_a_source(method: Method, pieces_a_unit: float) -> float | None:
    return method.pieces_per_source / pieces_a_unit if method.pieces_per_source else None
